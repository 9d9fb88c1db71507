"""The adapter to Vosk: its library and the folder of one model, both found on disk.

Vosk is a recogniser for many languages. Its Python package can fetch models from the network
and end the process, so it is never imported: the library that it carries is loaded from its
place, with the few functions of its C interface (``vosk_api.h``) that are used here. What is
done with what it hears is ``vosk_listener``'s.
"""

from __future__ import annotations

import ctypes
import hashlib
import json
import os
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voicewalk.errors import ModelError

Floats = NDArray[np.float32]

MODELS = "VOICEWALK_MODELS"
"""The environment variable that may name the folder of models."""

UNKNOWN = ("[unk]", "<UNK>", "<unk>")
"""Words that models have for speech which is none of their words, the usual one first."""

_LIBRARIES = {"win32": "libvosk.dll", "darwin": "libvosk.dyld"}
_REMEDY = "See models_readme/README.md: how to get a model for Vosk and how to check it."
_RATE = 16_000
_SILENT = -1
_SEED = 1
"""The model's features have a little noise added, drawn from the C library's generator: seeded
alike before each clip, the same clip gives the same scores."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a clip; ``score`` is a log-likelihood, of this clip only."""

    text: str
    score: float


def find_model(language: str, environment: Mapping[str, str] = os.environ) -> Path:
    """The folder of the model for a language (BCP 47 tag): the first of those that exist.

    The folder ``vosk-<language>`` in the folder that ``VOICEWALK_MODELS`` names, the same in the
    user's folder for data, and the package ``vosk-model-<language>``.

    Raises:
        ModelError: there is none.
    """
    places = list(_places(language, environment))
    for place in places:
        if place.is_dir():
            return place
    looked = ", ".join(str(place) for place in places)
    raise ModelError(
        f"there is no Vosk model for the language '{language}'; looked for: {looked}",
        f"Put one into the first of these folders, or install vosk-model-{language}. {_REMEDY}",
    )


def _places(language: str, environment: Mapping[str, str]) -> Iterator[Path]:
    name = f"vosk-{language}"
    if named := environment.get(MODELS):
        yield Path(named) / name
    data = environment.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    yield Path(data) / "voicewalk" / "models" / name
    spec = find_spec(f"vosk_model_{language.lower().replace('-', '_')}")
    for folder in (spec and spec.submodule_search_locations) or ():
        yield Path(folder) / "model"


def digest(folder: Path) -> str:
    """SHA-256 of a model: of the lines that ``sha256sum`` prints for its files, by name.

    So it can be checked by hand; models_readme says how.
    """
    files = sorted(f"./{path.relative_to(folder).as_posix()}" for path in _files(folder))
    lines = (f"{_sha256(folder / name)}  {name}\n" for name in files)
    return hashlib.sha256("".join(lines).encode()).hexdigest()


def _files(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*") if path.is_file())


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


class VoskModel:
    """One model in memory: a few hundred megabytes, some seconds to load.

    Raises:
        ModelError: the library or a part of the model is missing, or the model is of another
            kind: without a word for unknown speech, or unable to be held to a list of phrases.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._library = _library()
        _check(folder)
        self._model = self._library.vosk_model_new(str(folder).encode())
        if not self._model:
            raise ModelError(f"the speech model {folder} cannot be read", _REMEDY)
        known = [word for word in UNKNOWN if self.knows(word)]
        if not known:
            raise ModelError(
                f"the speech model {folder} has no word for unknown speech: {' or '.join(UNKNOWN)}",
                f"Use another one: with this one everything would be a word of the card. {_REMEDY}",
            )
        self.unknown = known[0]
        self.versions = {"vosk": version("vosk"), "vosk model": digest(folder)}

    def knows(self, word: str) -> bool:
        """Whether the model's list has the word. A phrase loses the words that it has not."""
        return int(self._library.vosk_model_find_word(self._model, word.encode())) >= 0

    def hear(self, samples: Floats, phrases: str, count: int) -> list[Reading]:
        """Readings of a clip, best first; what it hears in silence is "".

        A recogniser is made for each clip: one that goes on adapts to what it heard before.

        Args:
            samples: mono, 16 kHz, -1 to 1.
            phrases: a JSON list of phrases to which it is held, or "" for all it knows. They
                become a bigram model: words in another order than theirs may be heard.
            count: of readings, at the most; the model's own beam gives few.
        """
        library = self._library
        recognizer = self._recognizer(phrases)
        try:
            library.vosk_recognizer_set_max_alternatives(recognizer, count)
            sound = np.round(np.clip(samples, -1, 1) * 32767).astype(np.int16)
            _C.srand(_SEED)
            library.vosk_recognizer_accept_waveform_s(
                recognizer, sound.ctypes.data_as(ctypes.c_void_p), len(sound)
            )
            result = json.loads(library.vosk_recognizer_final_result(recognizer))
        finally:
            library.vosk_recognizer_free(recognizer)
        return [Reading(one["text"], one["confidence"]) for one in result["alternatives"]]

    def _recognizer(self, phrases: str) -> int:
        library = self._library
        if phrases:
            made = library.vosk_recognizer_new_grm(self._model, _RATE, phrases.encode())
        else:
            made = library.vosk_recognizer_new(self._model, _RATE)
        if not made:
            raise RuntimeError("Vosk made no recogniser of these phrases")
        return int(made)

    def __del__(self) -> None:
        if getattr(self, "_model", None):
            self._library.vosk_model_free(self._model)


_C = ctypes.CDLL("msvcrt" if sys.platform == "win32" else None)

_POINTER, _TEXT = ctypes.c_void_p, ctypes.c_char_p
_INTERFACE: dict[str, tuple[object, list[object]]] = {
    "vosk_set_log_level": (None, [ctypes.c_int]),
    "vosk_model_new": (_POINTER, [_TEXT]),
    "vosk_model_free": (None, [_POINTER]),
    "vosk_model_find_word": (ctypes.c_int, [_POINTER, _TEXT]),
    "vosk_recognizer_new": (_POINTER, [_POINTER, ctypes.c_float]),
    "vosk_recognizer_new_grm": (_POINTER, [_POINTER, ctypes.c_float, _TEXT]),
    "vosk_recognizer_set_max_alternatives": (None, [_POINTER, ctypes.c_int]),
    "vosk_recognizer_accept_waveform_s": (ctypes.c_int, [_POINTER, _POINTER, ctypes.c_int]),
    "vosk_recognizer_final_result": (_TEXT, [_POINTER]),
    "vosk_recognizer_free": (None, [_POINTER]),
}
"""The functions used, with what they return and take, after ``vosk_api.h`` of 0.3.45."""


def _library() -> ctypes.CDLL:
    spec = find_spec("vosk")
    if spec is None or not spec.submodule_search_locations:
        raise ModelError(
            "the package vosk is missing: it hears languages other than English",
            "Install it, such as with: pip install 'voicewalk[vosk]'.",
        )
    path = Path(spec.submodule_search_locations[0]) / _LIBRARIES.get(sys.platform, "libvosk.so")
    try:
        library = ctypes.CDLL(str(path))
        for name, (result, arguments) in _INTERFACE.items():
            function = getattr(library, name)
            function.restype, function.argtypes = result, arguments
    except (OSError, AttributeError) as error:
        raise ModelError(
            f"the library of Vosk {path} cannot be used: {error}",
            "Install vosk in the version of requirements.lock.",
        ) from error
    library.vosk_set_log_level(_SILENT)
    return library


def _check(folder: Path) -> None:
    """Whether the parts of a model are there; Vosk itself tells little of what is missing.

    A model with one whole graph (``HCLG.fst``) cannot be held to phrases: Vosk would leave them
    out without a word, and hear anything.
    """
    for parts in (("am/final.mdl", "graph/HCLr.fst", "graph/Gr.fst"),
                  ("final.mdl", "HCLr.fst", "Gr.fst")):  # fmt: skip
        if (folder / parts[0]).is_file():
            missing = [part for part in parts if not (folder / part).is_file()]
            break
    else:
        missing = ["am/final.mdl"]
    if missing:
        raise ModelError(
            f"the speech model {folder} cannot be used: {' and '.join(missing)} missing",
            f"Take a whole model that can be held to a list of phrases. {_REMEDY}",
        )
