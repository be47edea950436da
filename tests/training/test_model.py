"""The model in PyTorch says what the shipped one says; training changes it, and goes on where it left off.

torch is no dependency of the guide: without it these are skipped, and the checks in one command run without it.
"""

import json
from pathlib import Path

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from training.augment import Loudness, Luck, site, transform_size  # noqa: E402
from training.batches import alike, padded  # noqa: E402
from training.model import Speech, as_shipped  # noqa: E402
from training.train import Plan, Trainer, train  # noqa: E402
from training.weights import Shipped  # noqa: E402

from guide.voice.embedded.model import Model, find_weights  # noqa: E402
from guide.voice.embedded.tokens import END, START, Pieces  # noqa: E402
from guide.voice.wav import read_wav  # noqa: E402

CLIPS = Path(__file__).parents[1] / "voice" / "clips"
SAID = {
    "reading-clean": ("reading", "Thirty six and five eighths."),
    "reading-small": ("reading", "Three sixteenths."),
    "talk": ("talk", "Hand me that."),
    "cut": ("cut", "Seventeen"),
}


@pytest.fixture(scope="module")
def shipped() -> Shipped:
    """The weights as they are shipped."""
    return Shipped.load()


@pytest.fixture
def speech(tmp_path: Path) -> Path:
    """A rendered folder of a few clips; the texts are not what is said in them, which does not matter here."""
    folder = tmp_path / "speech" / "train-0"
    folder.mkdir(parents=True)
    sounds, lines, start = [], [], 0
    for name, (kind, target) in SAID.items():
        sounds.append((read_wav(CLIPS / f"{name}.wav") * 20000).astype("<i2"))
        line = {"shard": "sound-0000.i16", "start": start, "samples": len(sounds[-1]), "split": "train"}
        lines.append(json.dumps({**line, "kind": kind, "target": target}))
        start += len(sounds[-1])
    np.concatenate(sounds).tofile(folder / "sound-0000.i16")
    (folder / "lines.jsonl").write_text("\n".join(lines) + "\n")
    (folder / "made.json").write_text("{}")
    return folder.parent


@pytest.mark.outside("onnxruntime running the shipped files", "computed")
def test_the_model_says_what_the_shipped_one_says(shipped: Shipped) -> None:
    """Near, and the same likeliest pieces: onnxruntime rounds what goes through the matrices to 8 bits."""
    model, folder = Speech.of(shipped).eval(), find_weights()
    pieces = Pieces.load(folder / "tokenizer.bin").encode("Thirty six and five eighths.")
    sound = read_wav(CLIPS / "reading-clean.wav")
    wanted = Model(folder, threads=1).listen(sound).follow(pieces)
    with torch.no_grad():
        found = model(torch.tensor(sound)[None], torch.tensor([[START, *pieces]]))[0].log_softmax(-1).numpy()
    assert np.array_equal(found.argmax(1), wanted.argmax(1))
    assert np.corrcoef(found.ravel(), wanted.ravel())[0, 1] > 0.995
    near = np.abs(found - wanted)[wanted > -5]
    assert near.max() < 0.5


def test_the_models_weights_go_back_to_the_same_bytes(shipped: Shipped) -> None:
    assert shipped.written(as_shipped(Speech.of(shipped).state_dict(), shipped)) == shipped.files


@pytest.mark.parametrize(("rank", "settle"), [(0, 0.0), (2, 1.0)])
def test_training_on_a_processor_changes_the_weights_and_goes_on(
    shipped: Shipped, speech: Path, tmp_path: Path, rank: int, settle: float
) -> None:
    plan = Plan(steps=2, rows=2, rank=rank, settle=settle, distil=0.0)
    whole = Trainer(plan, speech, torch.device("cpu"))
    train(whole)
    half = Trainer(Plan(**{**vars(plan), "steps": 1}), speech, torch.device("cpu"))
    train(half, tmp_path / "checkpoint")
    again = Trainer(plan, speech, torch.device("cpu"))
    again.resume(tmp_path / "checkpoint")
    assert (again.step, whole.step) == (1, 2)
    train(again)
    assert again.step == 2
    trained = whole.averaged()
    assert trained.keys() == set(shipped.trained())
    moved = [name for name, value in trained.items() if not np.array_equal(value, shipped.floats(name))]
    assert len(moved) > (100 if rank else 150)
    assert all(np.isfinite(value).all() for value in trained.values())


def test_a_training_goes_on_from_what_another_wrote(shipped: Shipped, speech: Path, tmp_path: Path) -> None:
    first = Trainer(Plan(steps=1, rows=2, distil=0.0), speech, torch.device("cpu"))
    train(first)
    wrote = first.averaged()
    np.savez(tmp_path / "first.npz", **wrote)
    then = Trainer(Plan(steps=1, rows=2, distil=0.0, seed=2), speech, torch.device("cpu"))
    then.go_on(tmp_path / "first.npz")
    begun = then.averaged()
    assert all(np.array_equal(begun[name], value) for name, value in wrote.items())
    name = "encoder.conv2.weight"
    assert not np.array_equal(begun[name], shipped.floats(name))
    train(then)
    assert not np.array_equal(then.averaged()[name], begun[name])


def test_a_checkpoint_of_another_plan_is_refused(speech: Path, tmp_path: Path) -> None:
    one = Trainer(Plan(steps=1, rows=2, distil=0.0), speech, torch.device("cpu"))
    one.save(tmp_path / "checkpoint")
    other = Trainer(Plan(steps=1, rows=2, distil=0.0, rate=1e-5), speech, torch.device("cpu"))
    with pytest.raises(SystemExit, match="of another plan"):
        other.resume(tmp_path / "checkpoint")


def test_noise_keeps_its_distance_from_speech() -> None:
    """Rows come out finite, within -1 to 1, and the same again from the same seed; a row of nothing is noise alone."""
    from random import Random

    speech = torch.zeros(4, 16384)
    speech[1:] = 0.3 * torch.sin(torch.arange(16384) / 5)
    made = [site(speech, Luck(4, torch.Generator().manual_seed(3), Random(3)), Loudness()) for _ in range(2)]
    (sound, ratio), (again, _) = made
    assert torch.equal(sound, again)
    assert sound.shape == speech.shape and bool(torch.isfinite(sound).all()) and float(sound.abs().max()) <= 1
    assert float(ratio[0]) == -99 and bool((ratio[1:] >= -5).all())
    assert float(sound[0].abs().max()) > 0


def test_lengths_whose_transform_is_fast_hold_what_they_should() -> None:
    for length in (1, 1024, 5000, 81920, 100_001):
        size = transform_size(length)
        assert size >= length and size % 1024 == 0
        for prime in (2, 3, 5, 7):
            while size % prime == 0:
                size //= prime
        assert size == 1


def test_targets_begin_and_end() -> None:
    given, wanted = padded([[7, 8], []], torch.device("cpu"))
    assert given.tolist() == [[START, 7, 8], [START, END, END]]
    assert wanted.tolist() == [[7, 8, END], [END, -1, -1]]


def test_texts_that_differ_in_few_words_are_alike() -> None:
    assert alike("Bring me three-more of those.", "bring me three more of those")
    assert not alike("Bring me tea.", "bring me three more of those")
    assert not alike("", "bring me three")
