"""Reading the YAML that people write, with file, line and column in every error.

YAML 1.2: ``NO``, ``on`` and ``off`` are words, only ``true`` and ``false`` are truth values. A
duplicate or unknown key, an alias and a tag are refused. What the values mean is left to the
pydantic model that the caller brings: cards and vocabularies share this room.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, TypeVar, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError
from rapidfuzz import process
from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.tokens import AliasToken, TagToken

from voicewalk.errors import SourceError

Place = tuple[str | int, ...]
"""The way from the top of a file to a value: keys, and numbers of list items from 0."""


class Written(BaseModel):
    """Base of all that is written in a file: no unknown keys, nothing guessed from a type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def _one_or_many(value: object) -> object:
    return [value] if isinstance(value, str) else value


def _whole_too(value: object) -> object:
    return Decimal(value) if isinstance(value, int) and not isinstance(value, bool) else value


Number = Annotated[Decimal, BeforeValidator(_whole_too)]
"""A number as written: 205 or 5.25, never a text."""

Texts = Annotated[list[str], BeforeValidator(_one_or_many)]
"""One text, or a list of texts."""

W = TypeVar("W", bound=Written)

_CORRECTIONS = {
    "string_type": "Write a text; one that looks like a number, true or false goes in quotes.",
    "bool_type": "Write true or false.",
    "int_type": "Write a whole number, without quotes.",
    "is_instance_of": "Write a number, without quotes and without a unit.",
    "list_type": "Write a list, in [ ] or each on a line with '- '.",
    "model_type": "Write 'key: value' lines here.",
    "invalid_key": "Write the key as a word.",
}
"""What to do about a value of the wrong type, by pydantic's name of the error."""


class Source:
    """One YAML file: its bytes, its values, and the place of each value.

    Raises:
        SourceError: the file cannot be read or is no YAML.
    """

    def __init__(self, path: Path, data: bytes | None = None) -> None:
        """Parse ``data``, or what ``path`` holds where none is given."""
        self.path = path
        try:
            self.data = path.read_bytes() if data is None else data
        except OSError as error:
            raise SourceError(
                str(path), f"cannot be read: {error.strerror}", "Check the name of the file."
            ) from error
        self._root = self._parse()

    def where(self, place: Place = ()) -> str:
        """``file:line:column`` of a place, or of the nearest thing around it that exists."""
        line, column = self._position(place)
        return f"{self.path}:{line}:{column}"

    def line(self, place: Place) -> int:
        """The line of a place, from 1."""
        return self._position(place)[0]

    def fault(self, place: Place, message: str, what_to_do: str) -> SourceError:
        """An error about the value at ``place``."""
        return SourceError(self.where(place), message, what_to_do)

    def keys_of(self, place: Place = ()) -> list[str]:
        """The keys of the mapping at a place; none where there is no mapping."""
        node: Any = self._root
        for part in place:
            node = node.get(part) if isinstance(node, CommentedMap) else None
        return [str(key) for key in node] if isinstance(node, CommentedMap) else []

    def texts(self) -> Iterator[tuple[Place, str]]:
        """Every text with its place, in the order of the file; keys are none."""
        yield from _texts((), self._root)

    def read(self, model: type[W]) -> W:
        """The whole file as ``model``. Raises ``SourceError`` naming all that does not fit."""
        if not isinstance(self._root, CommentedMap):
            raise self.fault((), "the file holds no keys", "Write 'key: value' lines.")
        try:
            return model.model_validate(_plain(self._root))
        except ValidationError as error:
            faults = [self._misfit(model, e["loc"], e["type"], e["msg"]) for e in error.errors()]
            raise together(faults) from error

    def _parse(self) -> object:
        try:
            text = unicodedata.normalize("NFC", self.data.decode("utf-8"))
            for token in YAML(typ="rt").scan(text):
                if isinstance(token, AliasToken | TagToken):
                    mark = token.start_mark
                    raise SourceError(
                        f"{self.path}:{mark.line + 1}:{mark.column + 1}",
                        "aliases (*) and tags (!) are not used here",
                        "Write the value out; a text that begins so goes in quotes.",
                    )
            return YAML(typ="rt").load(text)
        except RecursionError as error:
            raise SourceError(
                str(self.path), "the file is nested too deeply", "Close the brackets."
            ) from error
        except UnicodeDecodeError as error:
            line = self.data.count(b"\n", 0, error.start) + 1
            raise SourceError(
                f"{self.path}:{line}:1", "the file is not UTF-8 text", "Save the file as UTF-8."
            ) from error
        except MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            place = f":{mark.line + 1}:{mark.column + 1}" if mark else ""
            raise SourceError(f"{self.path}{place}", *_yaml_fault(error)) from error
        except YAMLError as error:
            raise SourceError(
                str(self.path),
                "the file holds a character that is no text",
                "Remove control characters from the file.",
            ) from error

    def _position(self, place: Place) -> tuple[int, int]:
        """Line and column, from 1. Of a key's value; of the key where the value is missing."""
        node = self._root
        line, column = 0, 0
        for part in place:
            if isinstance(node, CommentedMap) and part in node:
                empty = node[part] is None or isinstance(node[part], CommentedMap | CommentedSeq)
                line, column = node.lc.key(part) if empty else node.lc.value(part)
                node = node[part]
            elif isinstance(node, CommentedSeq) and isinstance(part, int) and part < len(node):
                line, column = node.lc.item(part)
                node = node[part]
        return line + 1, column + 1

    def _misfit(self, model: type[Written], loc: Place, kind: str, message: str) -> SourceError:
        """A pydantic error as one of ours."""
        key = loc[-1] if loc else ""
        if kind == "extra_forbidden":
            near = nearest(str(key), _keys_at(model, loc[:-1]))
            return self._at_key(loc, f"unknown key '{key}'", near)
        if kind == "missing":
            return self.fault(loc, f"'{key}' is missing", f"Add the key '{key}' here.")
        if kind == "model_type":
            message = "there are no keys here"
        about = f"'{key}': " if isinstance(key, str) else ""
        return self.fault(
            loc,
            f"{about}{message[:1].lower()}{message[1:]}",
            _CORRECTIONS.get(kind, "Correct the value."),
        )

    def _at_key(self, loc: Place, message: str, what_to_do: str) -> SourceError:
        node = self._root
        for part in loc[:-1]:
            node = node[part]  # type: ignore[index]
        line, column = node.lc.key(loc[-1])  # type: ignore[attr-defined]
        return SourceError(f"{self.path}:{line + 1}:{column + 1}", message, what_to_do)


def _texts(place: Place, node: object) -> Iterator[tuple[Place, str]]:
    if isinstance(node, str):
        yield place, str(node)
    elif isinstance(node, CommentedMap | CommentedSeq):
        inner = node.items() if isinstance(node, CommentedMap) else enumerate(node)
        for key, value in inner:
            yield from _texts((*place, key), value)


def nearest(word: str, known: Iterable[str]) -> str:
    """What to do about an unknown word: the nearest known one, and all of them."""
    names = sorted(known)
    best = process.extractOne(word, names, score_cutoff=60)
    guess = f"Did you mean '{best[0]}'? " if best else ""
    return f"{guess}Known: {', '.join(names)}."


def together(faults: Iterable[SourceError]) -> SourceError:
    """The first of ``faults`` with the others told below its message."""
    first, *others = faults
    message = "\n".join(str(fault.args[0]) for fault in (first, *others))
    return SourceError(first.where, message.removeprefix(f"{first.where}: "), first.what_to_do)


def _plain(node: Any) -> Any:  # noqa: ANN401 - whatever YAML holds
    """YAML's values without ruamel's types; a number with a point as the decimal written."""
    if isinstance(node, CommentedMap):
        return {key: _plain(value) for key, value in node.items()}
    if isinstance(node, CommentedSeq):
        return [_plain(value) for value in node]
    if isinstance(node, bool):
        return node
    if isinstance(node, int):
        return int(node)
    if isinstance(node, float):
        return Decimal(repr(float(node)))
    return str(node) if isinstance(node, str) else node


def _yaml_fault(error: MarkedYAMLError) -> tuple[str, str]:
    """Message and what to do about a file that is no YAML."""
    problem = str(error.problem or error.context)
    if problem.startswith("found duplicate key"):
        return problem.split(" with value")[0], "Keep one of the two, and remove the other."
    if "found another document" in problem:
        return problem, "Remove the line '---': a file holds one card or one vocabulary."
    return problem, "Correct the YAML here or in the line above: colons, indents and quotes."


def _keys_at(model: type[BaseModel], loc: Place) -> list[str]:
    """The keys known at a place of ``model``."""
    for part in loc:
        field = model.model_fields.get(str(part))
        inner = _model_in(field.annotation) if field else None
        model = inner or model
    return [str(field.alias or name) for name, field in model.model_fields.items()]


def _model_in(annotation: object) -> type[BaseModel] | None:
    """The model inside an annotation such as ``list[Model] | None``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = (_model_in(part) for part in get_args(annotation))
    return next((model for model in found if model), None)
