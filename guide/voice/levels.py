"""What a microphone hears, measured: level, noise, clipping, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from guide.voice.endpoint import FRAME, SECONDS, Detector, frames_of
from guide.voice.wav import RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Advice = Literal["no sound", "no speech", "clipping", "too far", "fan noise", "noisy", "good"]

SILENT = -85.0
"""Level of a microphone that is switched off, in dB below full scale."""
QUIET_SPEECH = -38.0
"""Speech below this comes from too far away, or the microphone is turned down."""
CLIPPED_SHARE = 0.001
"""Of the samples at full scale, at which speech is spoilt."""
FULL = 32_700
NARROW = 12.0
"""Decibels between speech and noise below which readings are asked again often."""
STEADY = 2.0
"""Decibels by which the level of a fan or an engine varies at most."""
FAN_LEVEL = -55.0
"""A steady noise below this does no harm."""


@dataclass(frozen=True, slots=True)
class Levels:
    """Levels in decibels below full scale; None where there was no speech, or nothing but speech."""

    seconds: float
    loudest: float
    speech: float | None
    noise: float | None
    clipped: float
    """Share of the samples at full scale."""
    steady: bool
    """The noise is even, like a fan's or an engine's."""

    @property
    def advice(self) -> tuple[Advice, ...]:
        """What is wrong, the worst first; "good" alone if nothing is."""
        if self.loudest < SILENT:
            return ("no sound",)
        found: list[Advice] = []
        if self.clipped > CLIPPED_SHARE:
            found.append("clipping")
        if self.speech is None:
            found.append("no speech")
        elif self.speech < QUIET_SPEECH:
            found.append("too far")
        noisy = self.speech is not None and self.noise is not None and self.speech - self.noise < NARROW
        if self.noise is not None and self.noise > FAN_LEVEL and self.steady:
            found.append("fan noise")
        elif noisy:
            found.append("noisy")
        return tuple(found) or ("good",)


CURES: dict[Advice, str] = {
    "no sound": "The microphone gives no sound: it is switched off, muted, or another one is the usual one.",
    "no speech": "No speech was heard. Say something, such as a reading.",
    "clipping": "Clipping: the sound is too loud for the microphone. Turn it down, or hold it further from your mouth.",
    "too far": "Too far: your voice is faint. Come closer, or turn the microphone up; a headset is best.",
    "fan noise": "Fan noise: an even noise, such as a fan or a compressor. Move away from it, or turn it off.",
    "noisy": "Noisy: there is little between your voice and the noise. Come closer to the microphone.",
    "good": "Good.",
}


def measure(samples: NDArray[np.int16], detector: Detector) -> Levels:
    """The levels of 16-bit mono sound at `RATE` samples a second."""
    import numpy as np

    detector.reset()
    speech: list[float] = []
    quiet: list[float] = []
    for frame in frames_of(iter([samples])):
        level = _level(frame)
        likely = detector(frame.tobytes())
        if likely >= 0.5:
            speech.append(level)
        elif likely < 0.3:
            quiet.append(level)
    noise = np.array(quiet)
    return Levels(
        seconds=len(samples) / RATE,
        loudest=20 * float(np.log10(max(1, int(np.abs(samples.astype(np.int32)).max(initial=0))) / 32768)),
        speech=float(np.percentile(speech, 75)) if len(speech) * SECONDS >= 0.1 else None,
        noise=float(np.median(noise)) if len(noise) else None,
        clipped=float(np.mean(np.abs(samples.astype(np.int32)) >= FULL)) if len(samples) else 0.0,
        steady=len(noise) * SECONDS >= 0.5 and float(np.percentile(noise, 90) - np.percentile(noise, 10)) < 2 * STEADY,
    )


def _level(frame: NDArray[np.int16]) -> float:
    import numpy as np

    power = float(np.mean(np.square(frame.astype(np.float64)))) if len(frame) == FRAME else 0.0
    return 10 * float(np.log10(max(power, 1e-3) / 32768**2))
