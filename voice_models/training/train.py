"""Teaches the ear on one GPU: PYTHONPATH=voice_models:. python -m training.train SPEECH OUT.npz --minutes 5

Needs torch.

SPEECH holds folders of `training.render`, more of which may come while this runs. All but the embedding is trained, in
whole or by matrices of low rank; beside the words that were said there are the shipped model's own probabilities on
talk that is for nobody, and a pull back to the shipped weights. What is written is an average over the steps.
`training.export` takes a part of the difference to the shipped weights and brings it to their levels.

The same seed gives the same clips and noise, but the learning rate follows the clock unless `--steps` is given.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as F
from torch.nn.utils import parametrize

from guide.voice.embedded.model import find_weights
from guide.voice.embedded.tokens import END, START, Pieces
from training.augment import Loudness, Luck, site
from training.batches import Batch, Store, batch_of, drawn, with_own_words
from training.export import in_levels
from training.model import Speech, as_shipped, as_torch
from training.weights import Shipped

WARM, LAST = 200, 0.03
"""Steps until the learning rate is reached; the part of it that is left at the end."""
LOOK = 5.0
"""Seconds between looks for more speech."""
WRITTEN_MOST = 40


@dataclass(frozen=True)
class Plan:
    """How to train."""

    seed: int = 1
    minutes: float = 0.0
    steps: int = 0
    """Either ends it; 0 is no limit."""
    rows: int = 128
    sound: float = 640.0
    """Seconds of sound in a batch at most."""
    rate: float = 4e-4
    rank: int = 0
    """0 trains whole matrices."""
    anchor: float = 0.0
    """Part of the difference to the shipped weights that is taken back in each step, times the learning rate."""
    distil: float = 0.5
    """Weight of the shipped model's own probabilities."""
    average: float = 0.999
    low: float = -5.0
    high: float = 24.0
    settle: float = 0.0
    """Part of the time, at the end, that weights are brought to levels while they are used."""


class LowRank(nn.Module):
    """A matrix as shipped, and the product of two small ones."""

    def __init__(self, shape: tuple[int, ...], rank: int) -> None:
        super().__init__()
        self.a = nn.Parameter(torch.zeros(shape[0], rank))
        self.b = nn.Parameter(torch.randn(rank, shape[1]) / rank**0.5)

    def forward(self, weight: Tensor) -> Tensor:
        """The sum."""
        return weight + self.a @ self.b


class Levels(nn.Module):
    """A matrix brought to the levels it is shipped in; its gradient goes straight through."""

    def __init__(self, scale: float, zero: int) -> None:
        super().__init__()
        self.scale, self.zero = scale, zero

    def forward(self, weight: Tensor) -> Tensor:
        """The nearest levels."""
        near = (torch.round(weight / self.scale) + self.zero).clamp(0, 255).sub(self.zero) * self.scale
        return weight + (near - weight).detach()


def matrices(model: Speech) -> dict[str, nn.Linear]:
    """The model's matrices that are shipped in levels, by their weight's name."""
    return {f"{name}.weight": one for name, one in model.named_modules() if isinstance(one, nn.Linear)}


def values_of(model: Speech, shipped: Shipped) -> dict[str, Tensor]:
    """Every trained weight as it is used, by its shipped name."""
    found = {}
    for name in shipped.trained():
        module, _, kind = name.rpartition(".")
        found[name] = getattr(model.get_submodule(module), kind)
    return found


class Trainer:
    """A model on its way."""

    def __init__(self, plan: Plan, speech: Path, device: torch.device, weights: Path | None = None) -> None:
        torch.manual_seed(plan.seed)
        folder = weights or find_weights()
        self.plan, self.device = plan, device
        self.shipped = Shipped.load(folder)
        self.pieces = Pieces.load(folder / "tokenizer.bin")
        self.model, self.teacher = (Speech.of(self.shipped).to(device) for _ in range(2))
        self.teacher.requires_grad_(False)
        if plan.rank:
            self._lower(plan.rank)
        self.parameters = [one for one in self.model.parameters() if one.requires_grad]
        self.begun = [one.detach().clone() for one in self.parameters]
        self.mean = [one.detach().clone() for one in self.parameters]
        self.optimizer = torch.optim.AdamW(
            self.parameters, plan.rate, betas=(0.9, 0.98), weight_decay=0.0, fused=device.type == "cuda"
        )
        self.store = Store(speech, self.pieces, device)
        self.generator = torch.Generator(device).manual_seed(plan.seed)
        self.chance = random.Random(plan.seed)
        self.step, self.before, self.settled = 0, 0.0, False
        self.ready: list[Any] = []
        self.started = self.looked = time.monotonic()

    def _lower(self, rank: int) -> None:
        self.model.requires_grad_(False)
        for one in matrices(self.model).values():
            parametrize.register_parametrization(one, "weight", LowRank(tuple(one.weight.shape), rank).to(self.device))
        for name, one in self.model.named_parameters():
            if "norm" in name or name.endswith("bias"):
                one.requires_grad_(True)

    def done(self) -> float:
        """How much of the way is behind, 0 to 1."""
        plan = self.plan
        by_time = self.elapsed() / (60 * plan.minutes) if plan.minutes else 0.0
        return min(1.0, max(by_time, self.step / plan.steps if plan.steps else 0.0))

    def elapsed(self) -> float:
        """Seconds of training, those before a break too."""
        return self.before + time.monotonic() - self.started

    def refresh(self) -> None:
        """Look for more speech; wait for the first."""
        self.looked = time.monotonic()
        while True:
            new = self.store.refresh()
            if new or self.store.clips:
                break
            time.sleep(0.5)
        if new:
            own = with_own_words(self.store, new, self.written, self.pieces, 2 * self.plan.rows)
            say(clips=len(self.store.clips), hours=round(len(self.store.sound) / 16000 / 3600, 2), own_words=own)

    @torch.no_grad()
    def written(self, sound: Tensor) -> list[list[int]]:
        """What the shipped model writes, the likeliest piece each time."""
        with self.faster():
            frames = self.teacher.encoder(sound)
            row = torch.full((len(sound), 1), START, device=self.device)
            for _ in range(WRITTEN_MOST):
                hidden = self.teacher.decoder(row, frames)[:, -1:]
                row = torch.cat((row, self.teacher.logits(hidden).argmax(-1)), 1)
                if bool((row == END).any(1).all()):
                    break
        return [one[1 : one.index(END)] if END in one else one[1:] for one in row.tolist()]

    def faster(self) -> Any:
        """Numbers of 16 bits where they will do."""
        return torch.autocast(self.device.type, torch.bfloat16, enabled=self.device.type == "cuda")

    def once(self) -> dict[str, Tensor]:
        """One step; what it lost."""
        if time.monotonic() - self.looked > LOOK:
            self.refresh()
        if not self.ready:
            self.ready = drawn(self.store, self.plan.rows, self.plan.sound, self.chance)
        clips = self.ready.pop()
        luck = Luck(len(clips), self.generator, self.chance)
        with torch.no_grad():
            batch = batch_of(self.store, clips, luck)
            sound, ratio = site(batch.speech, luck, Loudness(self.plan.low, self.plan.high))
        if self.plan.settle and self.done() > 1 - self.plan.settle and not self.settled:
            self.settle()
        lost = self.lost(batch, sound, ratio)
        rate = self.plan.rate * min(1, (self.step + 1) / WARM) * self.cooled()
        for group in self.optimizer.param_groups:
            group["lr"] = rate
        self.optimizer.zero_grad(set_to_none=True)
        lost["all"].backward()  # type: ignore[no-untyped-call]
        nn.utils.clip_grad_norm_(self.parameters, 1.0)
        self.optimizer.step()
        with torch.no_grad():
            if self.plan.anchor:
                torch._foreach_lerp_(self.parameters, self.begun, rate * self.plan.anchor)
            near = min(self.plan.average, (self.step + 1) / (self.step + 10))
            torch._foreach_lerp_(self.mean, self.parameters, 1 - near)
        self.step += 1
        return lost

    def cooled(self) -> float:
        """The part of the learning rate that is left, along a cosine."""
        return LAST + (1 - LAST) * 0.5 * (1 + math.cos(math.pi * self.done()))

    def lost(self, batch: Batch, sound: Tensor, ratio: Tensor) -> dict[str, Tensor]:
        """What the words' probabilities lack, and how far they are from the shipped model's where those count."""
        with self.faster():
            hidden = self.model.decoder(batch.pieces, self.model.encoder(sound))
            logits = self.model.logits(hidden)
        words = F.cross_entropy(logits.flatten(0, 1).float(), batch.wanted.flatten(), ignore_index=-1)
        zero = torch.zeros((), device=self.device)
        if not self.plan.distil or not len(batch.own):
            return {"all": words, "words": words, "own": zero}
        rows = batch.own
        with torch.no_grad(), self.faster():
            quiet = batch.speech[rows]
            quiet = quiet + 1e-4 * torch.randn_like(quiet)
            taught = self.teacher(quiet, batch.pieces[rows]).float().log_softmax(-1)
        learned = logits[rows].float().log_softmax(-1)
        apart = F.kl_div(learned, taught, reduction="none", log_target=True).sum(-1)
        count = ((batch.wanted[rows] >= 0) & (ratio[rows] > 3)[:, None]).float()
        own = (apart * count).sum() / (batch.wanted >= 0).sum()
        return {"all": words + self.plan.distil * own, "words": words, "own": own}

    def settle(self) -> None:
        """From now on use matrices as they will be shipped."""
        self.settled = True
        for name, one in matrices(self.model).items():
            place = self.shipped.places[name]
            assert place.scale is not None
            parametrize.register_parametrization(one, "weight", Levels(place.scale, place.zero), unsafe=True)

    def averaged(self) -> dict[str, Any]:
        """The average's weights, by their shipped names, as they are shipped."""
        kept = [one.detach().clone() for one in self.parameters]
        with torch.no_grad():
            for one, mean in zip(self.parameters, self.mean, strict=True):
                one.copy_(mean)
            found = as_shipped(values_of(self.model, self.shipped), self.shipped)
            for one, before in zip(self.parameters, kept, strict=True):
                one.copy_(before)
        return found

    def save(self, path: Path) -> None:
        """All that is needed to go on."""
        state = {
            "step": self.step,
            "elapsed": self.elapsed(),
            "parameters": self.parameters,
            "mean": self.mean,
            "optimizer": self.optimizer.state_dict(),
            "generator": self.generator.get_state(),
            "chance": self.chance.getstate(),
            "plan": vars(self.plan),
        }
        part = path.with_suffix(".part")
        torch.save(state, part)
        part.replace(path)

    def go_on(self, path: Path) -> None:
        """Begin with what another training of whole matrices wrote; the pull is still to the shipped weights."""
        with np.load(path) as found, torch.no_grad():
            for name, value in values_of(self.model, self.shipped).items():
                value.copy_(as_torch(name, found[name]))
            for mean, one in zip(self.mean, self.parameters, strict=True):
                mean.copy_(one)

    def resume(self, path: Path) -> None:
        """Go on where a checkpoint left off; the plan must be the same but for how long."""
        state = torch.load(path, map_location=self.device, weights_only=False)
        own = {**vars(self.plan), "minutes": 0, "steps": 0}
        if {**state["plan"], "minutes": 0, "steps": 0} != own:
            raise SystemExit(f"{path} is of another plan: {state['plan']}")
        with torch.no_grad():
            for mine, saved in zip([*self.parameters, *self.mean], [*state["parameters"], *state["mean"]], strict=True):
                mine.copy_(saved)
        self.optimizer.load_state_dict(state["optimizer"])
        self.generator.set_state(state["generator"].cpu())
        self.chance.setstate(state["chance"])
        self.step, self.before, self.started = state["step"], state["elapsed"], time.monotonic()


def say(**what: object) -> None:
    """A line of the log."""
    print(json.dumps(what), flush=True)


def train(trainer: Trainer, checkpoint: Path | None = None, every: float = 120.0) -> None:
    """To the end of the plan."""
    saved = time.monotonic()
    trainer.refresh()
    while trainer.done() < 1:
        lost = trainer.once()
        if trainer.step % 100 == 0 or trainer.done() >= 1:
            figures = {name: round(float(one.detach()), 4) for name, one in lost.items()}
            say(step=trainer.step, seconds=round(trainer.elapsed(), 1), rate=round(trainer.cooled(), 3), **figures)
        if checkpoint and time.monotonic() - saved > every:
            trainer.save(checkpoint)
            saved = time.monotonic()
    if checkpoint:
        trainer.save(checkpoint)


@torch.no_grad()
def gauged(trainer: Trainer, trained: dict[str, Any], scale: float, clips: list[Any]) -> float:
    """Nats a piece that the words of some clips lack, with a part of the difference, brought to levels."""
    shipped, model = trainer.shipped, Speech.of(trainer.shipped).to(trainer.device)
    for name, value in values_of(model, shipped).items():
        base, place = shipped.floats(name), shipped.places[name]
        new = base + np.float32(scale) * (trained[name] - base)
        value.copy_(as_torch(name, in_levels(new, place) if place.scale is not None else new))
    luck = Luck(len(clips), torch.Generator(trainer.device).manual_seed(7), random.Random(7))
    batch = batch_of(trainer.store, clips, luck)
    sound, _ = site(batch.speech, luck, Loudness())
    with trainer.faster():
        logits = model(sound, batch.pieces)
    return float(F.cross_entropy(logits.flatten(0, 1).float(), batch.wanted.flatten(), ignore_index=-1))


def main() -> None:
    """Train, and write the weights."""
    parser = argparse.ArgumentParser()
    parser.add_argument("speech", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--weights", type=Path, help="folder of the shipped weights (default: the package's)")
    parser.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    parser.add_argument("--checkpoint", type=Path)
    parser.add_argument("--begin", type=Path, help="weights that another training wrote, to go on from")
    for name, value in vars(Plan()).items():
        parser.add_argument(f"--{name}", type=type(value), default=value)
    arguments = parser.parse_args()
    plan = Plan(**{name: getattr(arguments, name) for name in vars(Plan())})
    if not plan.minutes and not plan.steps:
        parser.error("say how long: --minutes or --steps")
    if plan.rank and arguments.begin:
        parser.error("--begin is for whole matrices, not for --rank")
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    trainer = Trainer(plan, arguments.speech, torch.device(arguments.device), arguments.weights)
    say(plan=vars(plan), device=str(arguments.device))
    if arguments.begin:
        trainer.go_on(arguments.begin)
    if arguments.checkpoint and arguments.checkpoint.exists():
        trainer.resume(arguments.checkpoint)
    train(trainer, arguments.checkpoint)
    trained = trainer.averaged()
    arguments.out.parent.mkdir(parents=True, exist_ok=True)
    part = arguments.out.with_suffix(".part.npz")
    np.savez(part, **trained)
    part.replace(arguments.out)
    say(steps=trainer.step, seconds=round(trainer.elapsed(), 1), written=str(arguments.out))
    sample = drawn(trainer.store, plan.rows, 300, random.Random(0))[0]
    for scale in (0.0, 0.4, 0.6, 0.8, 1.0):
        say(scale=scale, lacks=round(gauged(trainer, trained, scale, sample), 4))


if __name__ == "__main__":
    main()
