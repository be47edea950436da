"""Every voice, whose it is, and which split it is in. No speaker is in two splits.

- **report**: the real speaker; two natural-sounding engines that train never hears (piper's "joe", flite's "slt" and
  "awb"); eight speakers of the Kokoro model that it never hears; two accents and some of espeak's variants.
- **choose**: flite's "rms", five other speakers of the Kokoro model, one accent and another set of variants.
- **train**: what is left, and mixtures of its own Kokoro speakers.

Natural speech matters most, for a crew is natural speech. So the engine with many natural speakers is in train; what is
reported comes from natural engines, and from speakers of that one, that training never heard: how much better the
ear gets on those is what may be hoped for from people it never heard.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

SPLITS = ("train", "choose", "report")


@dataclass(frozen=True)
class Voice:
    """One voice of an engine."""

    engine: str
    setting: str
    speaker: str
    split: str
    style: str
    """real, neural, parts or rules."""
    accent: str = "us"
    slow: float = 0.8
    fast: float = 1.3
    """Between which paces it speaks."""

    @property
    def name(self) -> str:
        """Engine and setting."""
        return f"{self.engine} {self.setting}".strip()


ACCENTS: Mapping[str, tuple[str, ...]] = {
    "train": ("en-us", "en", "en-029", "en-gb-x-gbclan", "en-gb-x-gbcwmd"),
    "choose": ("en-gb-scotland",),
    "report": ("en-gb-x-rp", "en-us-nyc"),
}
VARIANTS: Mapping[str, tuple[str, ...]] = {
    "train": (
        "m1", "m2", "m3", "m4", "m7", "m8", "f1", "f2", "f5", "Alex", "Alicia", "Andy", "Annie", "Denis", "Diogo",
        "Gene", "Henrique", "Hugo", "Jacky", "Lee", "Marco", "Mario", "Michael", "Mike", "Nguyen", "RicishayMax",
        "Storm", "adam", "anika", "announcer", "antonio", "aunty", "boris", "caleb", "david", "ed", "edward",
        "grandma", "grandpa", "gustave", "ian", "iven", "iven2", "john", "kaukovalta", "klatt", "klatt2", "klatt4",
        "marcelo", "max", "michel", "miguel", "norbert", "pablo", "paul", "pedro", "quincy", "rob", "sandro", "steph",
        "travis", "zac",
    ),
    "choose": ("m6", "f3", "robert", "shelby", "Gene2", "victor", "iven3", "klatt3"),
    "report": ("m5", "f4", "linda", "benjamin", "Andrea", "Reed", "belinda", "steph2", "edward2", "mike2", "klatt5"),
}  # fmt: skip
"""Espeak's variants are other throats and pitches of one machine: split, as its accents are."""

KOKORO: Mapping[str, tuple[str, ...]] = {
    "train": (
        "af_alloy", "af_aoede", "af_bella", "af_heart", "af_jessica", "af_kore", "af_nicole", "af_river", "am_adam",
        "am_echo", "am_fenrir", "am_michael", "am_puck", "am_santa", "bf_emma", "bf_lily", "bm_fable", "bm_george",
        "ef_dora", "em_alex", "ff_siwis", "hf_alpha", "hf_beta", "hm_omega", "if_sara", "jf_alpha", "jf_nezumi",
        "jm_kumo", "pf_dora", "pm_alex", "zf_xiaobei", "zf_xiaoxiao", "zf_xiaoyi", "zm_yunjian", "zm_yunxi",
        "zm_yunyang",
    ),
    "choose": ("af_sky", "am_liam", "bf_alice", "bm_daniel", "im_nicola"),
    "report": ("af_sarah", "af_nova", "am_onyx", "am_eric", "bf_isabella", "bm_lewis", "hm_psi", "zf_xiaoni"),
}  # fmt: skip
"""The first letter is the language that a speaker is from: a American, b British, e Spanish, f French, h Hindi, i
Italian, j Japanese, p Portuguese, z Chinese; all of them speak English here, some with an accent."""
BLENDS = 60


def _espeak(split: str) -> list[Voice]:
    return [
        Voice("espeak", f"{accent}+{variant}", f"espeak {variant}", split, "rules", accent, 0.8, 1.35)
        for accent in ACCENTS[split]
        for variant in VARIANTS[split]
    ]


def _kokoro(split: str) -> list[Voice]:
    found = []
    for name in KOKORO[split]:
        british = name.startswith("b")
        setting = f"{name}:gb" if british else name
        found.append(Voice("kokoro", setting, f"kokoro {name}", split, "neural", name[0], 0.85, 1.25))
    return found


def _blends() -> list[Voice]:
    """Mixtures of two speakers of train: people that nobody is."""
    chance = random.Random(5)
    found: dict[str, Voice] = {}
    while len(found) < BLENDS:
        one, two = sorted(chance.sample(KOKORO["train"], 2))
        british = one[0] == "b" or two[0] == "b"
        setting = f"{one}+{two}{':gb' if british else ''}"
        found[setting] = Voice("kokoro", setting, f"kokoro {one}+{two}", "train", "neural", one[0], 0.85, 1.25)
    return list(found.values())


VOICES: tuple[Voice, ...] = (
    *(voice for split in SPLITS for voice in (*_espeak(split), *_kokoro(split))),
    *_blends(),
    Voice("hibari", "", "kokoro af_heart", "train", "neural", "a", 0.8, 1.3),
    Voice("flite", "kal16", "kal", "train", "parts", "us", 0.8, 1.3),
    Voice("flite", "rms", "rms", "choose", "parts", "us", 0.85, 1.2),
    Voice("flite", "slt", "slt", "report", "parts", "us", 0.85, 1.2),
    Voice("flite", "awb", "awb", "report", "parts", "scotland", 0.85, 1.2),
    Voice("piper", "joe", "joe", "report", "neural", "us", 0.85, 1.2),
    Voice("prompts", "allison", "allison", "report", "real", "us", 1.0, 1.0),
)

SHARES: Mapping[str, Mapping[str, float]] = {
    "train": {"kokoro": 0.12, "hibari": 0.24, "espeak": 0.50, "flite": 0.14},
    "choose": {"kokoro": 0.4, "espeak": 0.3, "flite": 0.3},
    "report": {"kokoro": 0.3, "espeak": 0.2, "flite": 0.25, "piper": 0.17, "prompts": 0.08},
}
"""How often each engine speaks. Kokoro's speakers are the best and by far the slowest."""
THROATS = (0.88, 1.14)
"""How much the formants alone are moved, in half of what train says: other throats at the same pitch."""
WARPS = (0.87, 1.17)
"""How much slower and deeper, or faster and higher, voices of train are played: other people with the same manner."""


def of_split(split: str, engines: Sequence[str] = ()) -> list[Voice]:
    """The voices of a split, of these engines or of all."""
    return [voice for voice in VOICES if voice.split == split and (not engines or voice.engine in engines)]
