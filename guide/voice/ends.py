"""Whether a recording stops in the middle of speech: what was said then is not all that was meant."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PIECE = 320
"""Samples of a piece: 20 ms."""
LAST = 4
"""Pieces at the end that are looked at."""
QUIET, LOUD = 10, 85
"""Percentiles of the pieces' loudness that stand for the background and for speech."""
APART = 6.0
"""Decibels that speech must stand out by for its end to be known."""
SHARE = 0.5
"""Of the way from the background to speech, in decibels, at which the end is still speech."""


def stops_in_speech(samples: NDArray[np.float32]) -> bool:
    """Whether the sound, one channel at 16,000 samples a second, ends as loud as its speech."""
    import numpy as np

    count = len(samples) // PIECE
    if count < 3 * LAST:
        return False
    # the change from sample to sample: speech, with less of what rumbles
    change = np.diff(samples[-count * PIECE :], prepend=samples[-count * PIECE])
    levels = 10 * np.log10((change.reshape(count, PIECE) ** 2).mean(axis=1) + 1e-10)
    quiet, loud = np.percentile(levels, [QUIET, LOUD])
    return bool(loud - quiet > APART and np.median(levels[-LAST:]) > quiet + SHARE * (loud - quiet))
