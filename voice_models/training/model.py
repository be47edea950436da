"""The speech model in PyTorch, its weights named as `training.weights` names them. Needs torch, which guide does not.

Sound (batch, samples) at 16,000 a second, -1 to 1, goes through three convolutions (a frame for 24 ms) and six layers
of attention; the decoder's six layers look at their own past and at the frames. Positions turn the first 32 of each
head's 36 numbers, in pairs. The norm behind the first convolution runs over all time: silence put behind changes all.
"""

from __future__ import annotations

from collections.abc import Mapping

import torch
from torch import Tensor, nn
from torch.nn import functional as F

from training.weights import TIED, Floats, Shipped

WIDTH, HEADS, HEAD, TURNED, LAYERS, PIECES = 288, 8, 36, 32, 6, 32768


def turned(x: Tensor) -> Tensor:
    """(batch, heads, length, head) with positions: pairs of numbers turned by an angle that grows along the length."""
    speeds = 10000.0 ** (-torch.arange(0, TURNED, 2, device=x.device, dtype=torch.float32) / TURNED)
    angle = torch.arange(x.shape[2], device=x.device, dtype=torch.float32)[:, None] * speeds
    cos, sin = angle.cos().to(x.dtype), angle.sin().to(x.dtype)
    one, two = x[..., 0:TURNED:2], x[..., 1:TURNED:2]
    pairs = torch.stack((one * cos - two * sin, two * cos + one * sin), dim=-1).flatten(-2)
    return torch.cat((pairs, x[..., TURNED:]), dim=-1)


class Attention(nn.Module):
    """What each place takes from the places it looks at."""

    def __init__(self) -> None:
        super().__init__()
        self.q_proj, self.k_proj, self.v_proj, self.o_proj = (nn.Linear(WIDTH, WIDTH, bias=False) for _ in range(4))

    def forward(self, x: Tensor, seen: Tensor, own: bool, causal: bool = False) -> Tensor:
        """`own` is attention of a row to itself, with positions; else to the sound's frames, without."""
        q, k, v = (
            made.view(*made.shape[:2], HEADS, HEAD).transpose(1, 2)
            for made in (self.q_proj(x), self.k_proj(seen), self.v_proj(seen))
        )
        if own:
            q, k = turned(q), turned(k)
        q, k, v = (F.pad(one, (0, 4)) for one in (q, k, v))  # 40 numbers a head: a fast kernel wants eights
        found = F.scaled_dot_product_attention(q, k, v, is_causal=causal, scale=HEAD**-0.5)[..., :HEAD]
        return self.o_proj(found.transpose(1, 2).flatten(-2))


class Encoding(nn.Module):
    """A layer of the encoder."""

    def __init__(self) -> None:
        super().__init__()
        self.input_layernorm = nn.LayerNorm(WIDTH, bias=False)
        self.post_attention_layernorm = nn.LayerNorm(WIDTH, bias=False)
        self.self_attn = Attention()
        self.mlp = nn.ModuleDict({"fc1": nn.Linear(WIDTH, 4 * WIDTH), "fc2": nn.Linear(4 * WIDTH, WIDTH)})

    def forward(self, x: Tensor) -> Tensor:
        """(batch, frames, width), the same again."""
        inner = self.input_layernorm(x)
        x = x + self.self_attn(inner, inner, own=True)
        return x + self.mlp["fc2"](F.gelu(self.mlp["fc1"](self.post_attention_layernorm(x))))


class Decoding(nn.Module):
    """A layer of the decoder."""

    def __init__(self) -> None:
        super().__init__()
        self.input_layernorm = nn.LayerNorm(WIDTH, bias=False)
        self.post_attention_layernorm = nn.LayerNorm(WIDTH, bias=False)
        self.final_layernorm = nn.LayerNorm(WIDTH, bias=False)
        self.self_attn, self.encoder_attn = Attention(), Attention()
        self.mlp = nn.ModuleDict({"fc1": nn.Linear(WIDTH, 8 * WIDTH), "fc2": nn.Linear(4 * WIDTH, WIDTH)})

    def forward(self, x: Tensor, frames: Tensor) -> Tensor:
        """(batch, pieces, width), the same again; each piece sees those before it, and the sound."""
        inner = self.input_layernorm(x)
        x = x + self.self_attn(inner, inner, own=True, causal=True)
        x = x + self.encoder_attn(self.post_attention_layernorm(x), frames, own=False)
        value, gate = self.mlp["fc1"](self.final_layernorm(x)).chunk(2, dim=-1)
        return x + self.mlp["fc2"](F.silu(gate) * value)


class Encoder(nn.Module):
    """Sound to frames."""

    def __init__(self) -> None:
        super().__init__()
        self.conv1 = nn.Conv1d(1, WIDTH, 127, stride=64, bias=False)
        self.groupnorm = nn.GroupNorm(1, WIDTH)
        self.conv2 = nn.Conv1d(WIDTH, 2 * WIDTH, 7, stride=3)
        self.conv3 = nn.Conv1d(2 * WIDTH, WIDTH, 3, stride=2)
        self.layers = nn.ModuleList(Encoding() for _ in range(LAYERS))
        self.layer_norm = nn.LayerNorm(WIDTH, bias=False)

    def forward(self, sound: Tensor) -> Tensor:
        """(batch, samples) to (batch, frames, width)."""
        x = self.groupnorm(self.conv1(sound[:, None]).tanh())
        x = F.gelu(self.conv3(F.gelu(self.conv2(x)))).transpose(1, 2)
        for layer in self.layers:
            x = layer(x)
        found: Tensor = self.layer_norm(x)
        return found


class Decoder(nn.Module):
    """Pieces so far, and frames, to what is known of each next piece."""

    def __init__(self) -> None:
        super().__init__()
        self.embed_tokens = nn.Embedding(PIECES, WIDTH)
        self.layers = nn.ModuleList(Decoding() for _ in range(LAYERS))
        self.norm = nn.LayerNorm(WIDTH, bias=False)

    def forward(self, pieces: Tensor, frames: Tensor) -> Tensor:
        """(batch, pieces) to (batch, pieces, width)."""
        x = self.embed_tokens(pieces)
        for layer in self.layers:
            x = layer(x, frames)
        found: Tensor = self.norm(x)
        return found


class Speech(nn.Module):
    """The whole model."""

    def __init__(self) -> None:
        super().__init__()
        self.encoder, self.decoder = Encoder(), Decoder()

    @classmethod
    def of(cls, shipped: Shipped) -> Speech:
        """With the shipped weights; the embedding stays as it is."""
        with torch.device("meta"):
            model = cls()
        values = {name: as_torch(name, shipped.floats(name)) for name in shipped.places if name != TIED}
        model.load_state_dict(values, assign=True)
        model.requires_grad_(True)
        model.decoder.embed_tokens.requires_grad_(False)
        return model

    def forward(self, sound: Tensor, pieces: Tensor) -> Tensor:
        """Logits (batch, pieces, all pieces)."""
        return self.logits(self.decoder(pieces, self.encoder(sound)))

    def logits(self, hidden: Tensor) -> Tensor:
        """From what the decoder ends with: the output's matrix is the embedding."""
        return F.linear(hidden, self.decoder.embed_tokens.weight)


def _turned_over(name: str) -> bool:
    """Whether the shipped matrix lies the other way round."""
    return name.endswith("_proj.weight") or ".mlp." in name and name.endswith(".weight")


def as_torch(name: str, values: Floats) -> Tensor:
    """A shipped weight as the model has it."""
    found = torch.from_numpy(values.copy())
    if _turned_over(name):
        return found.T.contiguous()
    return found.flatten() if ".groupnorm." in name else found


def as_shipped(values: Mapping[str, Tensor], shipped: Shipped) -> dict[str, Floats]:
    """The model's trained weights as the files have them."""
    found = {}
    for name in shipped.trained():
        value = values[name].detach().float().cpu()
        value = value.T if _turned_over(name) else value
        found[name] = value.reshape(shipped.places[name].shape).contiguous().numpy().copy()  # no view of what goes on
    return found
