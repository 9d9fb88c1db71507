"""Listener B's model: sound to an encoding, token strings to log-probabilities.

A 27 M parameter encoder-decoder of words, English, 16 kHz, run with onnxruntime alone. The
package ``moonshine-voice`` is only the carrier of the three files and is never imported.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import onnxruntime as ort
from numpy.typing import NDArray

from voicewalk.errors import ModelError
from voicewalk.models import checked_file

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

VERSION = "moonshine-tiny-en-0.1.0"
BEGIN, END = 1, 2

_PACKAGE = "moonshine_voice"
_FILES = {
    "encoder_model.ort": "94e90a4654fc45cdfedb77c4c08e1739f48862998e58fada384b25118134f221",
    "decoder_model_merged.ort": "cf524c4862d36e9e5ab032eddc73637efd822d70e868ac575cf1a46e1e4708a0",
    "tokenizer.bin": "6884b35fd6377d4c4d32336a0bc152f36b64d1e45b6503683cdc238250a8472d",
}
_HEADS, _WIDTH = 8, 36
_LEAST = 1600
"""Samples of the shortest clip encoded; silence is added to a shorter one, which the encoder's
three convolutions could not take."""

_FIRST_TEXT = 3 + 256


class WordModel:
    """The encoder, the decoder and the token texts.

    Attributes:
        tokens: text of each token; a leading space stands for the start of a word; tokens that
            are no text (control, single bytes) are "".
    """

    def __init__(self, threads: int = 2) -> None:
        paths = {
            name: checked_file(_PACKAGE, f"assets/tiny-en/{name}", digest)
            for name, digest in _FILES.items()
        }
        options = ort.SessionOptions()
        options.intra_op_num_threads = threads
        options.inter_op_num_threads = 1
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        providers = ["CPUExecutionProvider"]
        self._encoder = ort.InferenceSession(
            str(paths["encoder_model.ort"]), options, providers=providers
        )
        self._decoder = ort.InferenceSession(
            str(paths["decoder_model_merged.ort"]), options, providers=providers
        )
        self.tokens = _read_tokens(paths["tokenizer.bin"])

    def hear(self, samples: Floats) -> Decoding:
        """Encode a clip (mono, 16 kHz, -1 to 1) and stand ready to score tokens over it."""
        longer = np.pad(samples, (0, max(0, _LEAST - len(samples))))
        wave = np.ascontiguousarray(longer, dtype=np.float32).reshape(1, -1)
        feeds = {"input_values": wave, "attention_mask": np.ones(wave.shape, dtype=np.int64)}
        return Decoding(self._decoder, self._encoder.run(None, feeds)[0], wave.shape[1])


@dataclass(frozen=True)
class Strings:
    """A batch of token strings over one clip, one row each.

    Attributes:
        rows: (n, vocabulary) log-probabilities of the next token.
        memory: the decoder's own keys and values, by input name.
    """

    rows: Floats
    memory: dict[str, Floats]


class Decoding:
    """The decoder over one encoded clip. ``begun`` is the empty string, to be continued."""

    def __init__(self, decoder: ort.InferenceSession, states: Floats, samples: int) -> None:
        self._decoder = decoder
        # Of samples, not of states: the decoder thins it out itself, and would find a mask of
        # states too short from 9 s of sound on.
        self._mask = np.ones((1, samples), dtype=np.int64)
        self._states = states
        names = [output.name for output in decoder.get_outputs()][1:]
        self._past = [name.replace("present", "past_key_values") for name in names]
        nothing = np.zeros((1, _HEADS, 0, _WIDTH), dtype=np.float32)
        logits, past = self._run(np.array([[BEGIN]]), dict.fromkeys(self._past, nothing), False)
        # Of one row: the decoder's products repeat it for every string, without copies.
        self._sound = {name: value for name, value in past.items() if "encoder" in name}
        memory = {name: value for name, value in past.items() if "decoder" in name}
        self.begun = Strings(log_softmax(logits), memory)

    def onward(self, strings: Strings, parents: Sequence[int], tokens: Sequence[int]) -> Strings:
        """Continue row ``parents[i]`` by ``tokens[i]``, for each i."""
        rows = np.asarray(parents)
        memory = {name: value[rows] for name, value in strings.memory.items()}
        inputs = np.asarray(tokens, dtype=np.int64).reshape(-1, 1)
        logits, past = self._run(inputs, memory | self._sound, True)
        kept = {name: value for name, value in past.items() if "decoder" in name}
        return Strings(log_softmax(logits), kept)

    def _run(
        self, tokens: Ints, past: dict[str, Floats], go_on: bool
    ) -> tuple[Floats, dict[str, Floats]]:
        logits, *present = self._decoder.run(
            None,
            {
                "encoder_hidden_states": self._states,
                "input_ids": tokens,
                "encoder_attention_mask": self._mask,
                "use_cache_branch": np.array([go_on]),
                **past,
            },
        )
        return logits[:, -1], dict(zip(self._past, present, strict=True))


def log_softmax(logits: Floats) -> Floats:
    """Over the last axis, in float32."""
    shifted = logits - logits.max(axis=-1, keepdims=True)
    return np.asarray(shifted - np.log(np.exp(shifted).sum(axis=-1, keepdims=True)))


def _read_tokens(path: Path) -> list[str]:
    """Token texts from the tokenizer's file: a length, then that many bytes of UTF-8."""
    data = path.read_bytes()
    texts: list[str] = []
    at = 0
    while at < len(data):
        size = data[at]
        at += 1
        if size & 0x80:
            size = (size & 0x7F) | (data[at] << 7)
            at += 1
        raw = data[at : at + size]
        at += size
        # The first tokens are control marks and the 256 single bytes; none of them is text.
        texts.append(raw.decode().replace("▁", " ") if len(texts) >= _FIRST_TEXT else "")
    if len(texts) <= _FIRST_TEXT:
        raise ModelError("the token list of the word model is empty", "Run script/setup again.")
    return texts
