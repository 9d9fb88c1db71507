"""Listener A's acoustic model: sound to frame log-probabilities of phonemes, words to phonemes.

The one place that touches the ``hama`` package, whose frame output is semi-private: the
version is pinned, the files are checked, and a change of shape is a clear error.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from voicewalk.errors import ModelError
from voicewalk.hearing.files import checked_file

Floats = NDArray[np.float32]

RATE = 16_000
FRAME_SECONDS = 0.02
VERSION = "hama-1.7.0"
FLOOR = -10.0
"""Least log-probability of a phoneme in a frame. One phoneme that the model never emits would
otherwise outweigh all the others of a call: a wrong sound counts, but only once."""

_FILES = {
    "asr_waveform.hama": "a9fcfe73e179ca48e399cd76a90a6b3e1887bf5037ecc52b778d13a149563328",
    "encoder.hama": "ae527c1aa758cd1b038c63d4d768d05313adce7c50706c5366600ab4f4ef8d75",
    "decoder_step.hama": "9ac34717f88b7bed2ef84a779b6fda1ec24b0b88d37bb813631493116581369d",
    "g2p_vocab.json": "520d19e4e6ae58658eed53594e0feab8ea8e1b4b04a7746e25e50c16c29b91bf",
}


class PhonemeModel:
    """CTC over IPA phonemes, 16 kHz, a frame each 20 ms, English.

    Attributes:
        phonemes: index of each phoneme symbol in a frame of ``log_probs``.
        blank: index of the blank.
    """

    def __init__(self) -> None:
        for name, digest in _FILES.items():
            checked_file("hama", f"assets/{name}", digest)
        import hama

        self._asr = hama.ASRModel()
        self._g2p = hama.G2PModel()
        symbols = self._asr.decoder_tokens
        self.phonemes = {symbol: index for index, symbol in enumerate(symbols)}
        self.blank = self.phonemes["<blank>"]
        self._boundary = self.phonemes["<wb>"]

    def log_probs(self, samples: Floats) -> Floats:
        """Frame log-probabilities, shape (frames, symbols); word boundary and blank as one.

        Args:
            samples: mono, 16 kHz, -1 to 1.
        """
        wave = np.ascontiguousarray(samples, dtype=np.float32).reshape(1, -1)
        names = [self._asr._log_probs_output_name, self._asr._out_lengths_output_name]
        feeds = {
            self._asr._waveform_input_name: wave,
            self._asr._waveform_lengths_input_name: np.array([wave.shape[1]], dtype=np.int64),
        }
        output, lengths = self._asr.session.run(names, feeds)
        frames = np.asarray(output[0][: int(np.ravel(lengths)[0])], dtype=np.float32)
        if frames.ndim != 2 or frames.shape[1] != len(self.phonemes):
            raise ModelError(
                f"the phoneme model gave frames of shape {frames.shape}",
                f"Install the version that was measured: {VERSION}.",
            )
        both = np.logaddexp(frames[:, self.blank], frames[:, self._boundary])
        frames[:, self.blank] = both
        np.maximum(frames, FLOOR, out=frames)
        frames[:, self._boundary] = -np.inf
        return frames

    @lru_cache(maxsize=4096)  # noqa: B019 - one model lives as long as the program
    def spell(self, word: str) -> tuple[str, ...]:
        """The phonemes that the model's own letter-to-sound part gives a word."""
        return tuple(a.phoneme for a in self._g2p.predict(word).alignments)
