"""Sound of any rate brought to the ears' rate block by block, as if it had come in one piece."""

from __future__ import annotations

from math import gcd
from typing import TYPE_CHECKING

from guide.voice.wav import RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LOBES = 16
"""Zero crossings of the filter on each side, at the lower of both rates."""
BETA = 8.0
"""Of the filter's Kaiser window: what would fold back is 80 dB down."""
EDGE = 0.92
"""Where the filter begins to fall, as a share of half the lower rate."""


class Resampler:
    """Brings 16-bit mono sound from one rate to `RATE`; keeps what the next block needs of the last."""

    def __init__(self, rate: int) -> None:
        """`rate` in samples a second; raises `ValueError` if it is not positive."""
        import numpy as np

        if rate <= 0:
            raise ValueError(f"a rate of {rate} samples a second")
        self.rate = rate
        common = gcd(rate, RATE)
        self._up, self._down = RATE // common, rate // common
        if self._up == self._down:
            return
        longer = max(self._up, self._down)
        self._half = LOBES * longer
        at = np.arange(-self._half, self._half + 1) * (EDGE / longer)
        window = np.kaiser(2 * self._half + 1, BETA)
        shape = np.sinc(at) * window
        shape *= self._up / shape.sum()
        taps = -(-len(shape) // self._up)
        padded = np.zeros(taps * self._up)
        padded[: len(shape)] = shape
        self._taps = padded.reshape(taps, self._up).T.copy()
        self._kept = np.zeros(taps)
        self._first = -taps
        """The number of the first sample that is kept."""
        self._next = 0
        """The number of the next sample to make."""

    def take(self, samples: bytes) -> NDArray[np.int16]:
        """What can be made with these samples added."""
        import numpy as np

        new = np.frombuffer(samples, "<i2")
        if self._up == self._down:
            return new.astype(np.int16)
        self._kept = np.concatenate([self._kept, new])
        total = self._first + len(self._kept)
        count = max(0, (total * self._up - 1 - self._half) // self._down + 1 - self._next)
        reach = (self._next + np.arange(count)) * self._down + self._half
        last, phase = reach // self._up, reach % self._up
        rows = last[:, None] - np.arange(self._taps.shape[1]) - self._first
        made = np.einsum("ij,ij->i", self._kept[rows], self._taps[phase])
        self._next += count
        first_needed = (self._next * self._down + self._half) // self._up - self._taps.shape[1] + 1
        drop = max(0, min(len(self._kept), first_needed - self._first))
        self._kept, self._first = self._kept[drop:], self._first + drop
        whole: NDArray[np.int16] = np.clip(np.rint(made), -32768, 32767).astype(np.int16)
        return whole
