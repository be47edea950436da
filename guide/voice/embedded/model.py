"""The small speech model: sound in, the log-probabilities of the next piece out. The only door to onnxruntime.

Weights come from their own package, are looked up without importing it, and are loaded only if their SHA-256 is the one
they were measured with. Sound is one channel at 16,000 samples a second, between -1 and 1.
"""

from __future__ import annotations

import hashlib
import importlib.util
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from guide.problems import Problem, ProblemError
from guide.voice.embedded.tokens import START

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float32]

RATE = 16_000
"""Samples a second that the model takes."""
SHORTEST = RATE // 2
"""Fewer samples are filled up with silence: a tenth of a second would stop the encoder."""
PACKAGE = "moonshine_voice"
FOLDER = ("assets", "tiny-en")
FILES = {
    "encoder_model.ort": "94e90a4654fc45cdfedb77c4c08e1739f48862998e58fada384b25118134f221",
    "decoder_model_merged.ort": "cf524c4862d36e9e5ab032eddc73637efd822d70e868ac575cf1a46e1e4708a0",
    "tokenizer.bin": "6884b35fd6377d4c4d32336a0bc152f36b64d1e45b6503683cdc238250a8472d",
}
CURE = "pip install 'guide[voice]' (in a checkout: sh .ci/venv -e '.[voice]')"
THREADS = 2
HEADS, HEAD_SIZE = 8, 36


def find_weights() -> Path:
    """The folder of the model's files, each checked; raises `ProblemError` when one is missing or another file."""
    spec = importlib.util.find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise _problem("ear-missing", PACKAGE, "the ear's weights are not installed", CURE)
    folder = Path(spec.submodule_search_locations[0], *FOLDER)
    for name, wanted in FILES.items():
        try:
            found = hashlib.sha256((folder / name).read_bytes()).hexdigest()
        except OSError as error:
            raise _problem("ear-missing", str(folder / name), f"can't be read: {error.strerror}", CURE) from error
        if found != wanted:
            cure = f"install the version it was measured with again: {CURE}"
            raise _problem("ear-other", str(folder / name), "is not the file that the ear was measured with", cure)
    return folder


def _problem(code: str, place: str, message: str, hint: str) -> ProblemError:
    return ProblemError([Problem(code, f"{place}: {message}", hint=hint)])


@dataclass(frozen=True, slots=True)
class Rows:
    """Several beginnings of a text, equally long, and what the decoder keeps of each."""

    past: tuple[Floats, ...]
    """(rows, heads, length, head size) for each layer's keys and values."""
    across: tuple[Floats, ...]
    """(1, heads, frames, head size): the same for all rows."""


class Model:
    """The speech model, loaded."""

    def __init__(self, folder: Path, threads: int = THREADS) -> None:
        """Load the weights in the folder; raises `ProblemError` when onnxruntime is missing."""
        try:
            import onnxruntime
        except ImportError as error:
            raise _problem("ear-missing", "onnxruntime", "is not installed", CURE) from error
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = threads
        options.log_severity_level = 3
        # it would keep a plan of memory for every length of sound and every number of rows: there is no end of them
        options.enable_mem_pattern = False
        # waiting threads that spin take the cores from the rest of the job
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        self._encoder = onnxruntime.InferenceSession(str(folder / "encoder_model.ort"), options)
        self.decoder = onnxruntime.InferenceSession(str(folder / "decoder_model_merged.ort"), options)
        self.past_names = tuple(one.name for one in self.decoder.get_inputs() if one.name.startswith("past"))

    def listen(self, samples: Floats) -> Sound:
        """Take in sound, -1 to 1, at `RATE`."""
        import numpy as np

        if len(samples) < SHORTEST:
            samples = np.pad(samples, (0, SHORTEST - len(samples)))
        sound = np.ascontiguousarray(samples, np.float32)[None]
        mask = np.ones(sound.shape, np.int64)
        frames = self._encoder.run(None, {"input_values": sound, "attention_mask": mask})[0]
        # the decoder wants a mask as long as the sound, not as the frames
        return Sound(self, frames, mask)


class Sound:
    """A stretch of sound that the model has taken in."""

    def __init__(self, model: Model, frames: Floats, mask: NDArray[np.int64]) -> None:
        self._decoder = model.decoder
        self._names = model.past_names
        self._own = [at for at, name in enumerate(self._names) if ".decoder." in name]
        self._cross = [at for at, name in enumerate(self._names) if ".encoder." in name]
        self._fixed = {"encoder_hidden_states": frames, "encoder_attention_mask": mask}
        self.seconds = mask.shape[1] / RATE

    def begin(self) -> tuple[Floats, Rows]:
        """Log-probabilities of the first piece, (1, pieces), and one row that holds the start alone."""
        import numpy as np

        names = [_present(name) for name in self._names]
        logits, present = self._run(np.array([[START]], np.int64), self._nothing(), cached=False, keep=names)
        rows = Rows(tuple(present[at] for at in self._own), tuple(present[at] for at in self._cross))
        return _log_softmax(logits[:, -1]), rows

    def step(self, rows: Rows, chosen: Sequence[int], pieces: Sequence[int]) -> tuple[Floats, Rows]:
        """Go on from the chosen rows with one more piece each: log-probabilities (rows, pieces) and the new rows."""
        import numpy as np

        past: list[Any] = [None] * len(self._names)
        for at, one in zip(self._own, rows.past, strict=True):
            past[at] = one[list(chosen)]
        for at, one in zip(self._cross, rows.across, strict=True):
            past[at] = one
        names = [_present(self._names[at]) for at in self._own]
        logits, present = self._run(np.array(pieces, np.int64)[:, None], past, cached=True, keep=names)
        return _log_softmax(logits[:, -1]), Rows(tuple(present), rows.across)

    def follow(self, pieces: Sequence[int]) -> Floats:
        """Log-probabilities of each next piece along a whole text by itself, (length + 1, pieces).

        Rows that go through the decoder side by side change each other a little; this is the text on its own.
        """
        import numpy as np

        logits, _ = self._run(np.array([[START, *pieces]], np.int64), self._nothing(), cached=False, keep=[])
        return _log_softmax(logits[0])

    def _nothing(self) -> list[Floats]:
        import numpy as np

        return [np.zeros((1, HEADS, 0, HEAD_SIZE), np.float32)] * len(self._names)

    def _run(self, pieces: Any, past: Sequence[Any], cached: bool, keep: list[str]) -> tuple[Floats, list[Floats]]:
        import numpy as np

        given = {**dict(zip(self._names, past, strict=True)), **self._fixed}
        given["input_ids"] = pieces
        given["use_cache_branch"] = np.array([cached])
        logits, *present = self._decoder.run(["logits", *keep], given)
        return logits, present


def _present(name: str) -> str:
    """The output that is given back as this input."""
    return name.replace("past_key_values", "present")


def _log_softmax(logits: Floats) -> Floats:
    import numpy as np

    logits -= logits.max(axis=-1, keepdims=True)
    logits -= np.log(np.exp(logits).sum(axis=-1, keepdims=True))
    return logits
