"""The file beside a record that tells what its sounds are heard as now.

Reading and writing it, and its order, the most worrying first. It is a help for whoever looks
through records and no evidence: nothing signs it, and it can be made anew at any time. How
sounds are heard again is told in ``session.relisten``.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from pathlib import Path

from voicewalk import private
from voicewalk.record.database import trouble
from voicewalk.record.verify import Examined

FORMAT = "voicewalk relistened 1"
ENDING = ".relistened.jsonl"
"""Behind the name of the record."""


class Finding(StrEnum):
    """What a sound is heard as now, against what the record took it for; the worst first."""

    OTHER = "another call"
    OUTSIDE = "not for the tool"
    UNCLEAR = "not understood"
    ASKED = "would be asked back"
    LESS_SURE = "less sure"
    SURER = "understood now"  # it was asked back then
    AGREES = "agrees"


_WORRY = {
    Finding.OTHER: 50,
    Finding.OUTSIDE: 40,
    Finding.UNCLEAR: 30,
    Finding.ASKED: 20,
    Finding.LESS_SURE: 10,
}
_GOOD, _CRITICAL = 5, 2


@dataclass(frozen=True, slots=True)
class Relistened:
    """One entry's sound, heard again.

    Attributes:
        seq, hash: number and hash (hex) of the entry.
        item, name: what the entry is about; "" where it is about no item.
        result: the entry's result, "" for none.
        critical: whether the item is, by the card.
        was: the call that the record took the sound for, in words; "" where it took it for none.
        was_probability: of that, as the record has it; "" for none.
        now: the one or two calls that it would be taken for now, the likeliest first.
        probability: of the first of them.
        reason: the judge's.
    """

    seq: int
    hash: str
    finding: Finding
    item: str = ""
    name: str = ""
    result: str = ""
    critical: bool = False
    was: str = ""
    was_probability: str = ""
    now: tuple[str, ...] = ()
    probability: str = ""
    reason: str = ""

    @property
    def worry(self) -> int:
        """How much a person should look at it: 0 for not at all. What stands as good, and what
        is critical, weighs more than the like."""
        base = _WORRY.get(self.finding, 0)
        good = _GOOD if self.result == "satisfactory" else 0
        return base + good + _CRITICAL * self.critical if base else 0


@dataclass(frozen=True)
class Relistening:
    """A whole file.

    Attributes:
        versions: what the sounds were heard with, by name.
        lines: in the order in which they were heard.
    """

    versions: Mapping[str, str]
    lines: tuple[Relistened, ...]


def worst_first(lines: Iterable[Relistened]) -> list[Relistened]:
    """The lines that are worth a look, the most worrying first."""
    return sorted((one for one in lines if one.worry), key=lambda one: (-one.worry, one.seq))


def path_beside(record: Path) -> Path:
    """Where the file of a record lies."""
    return record.with_name(f"{record.name}{ENDING}")


def read_relistened(record: Path, examined: Examined) -> Relistening | None:
    """What is known of a record's sounds; ``None`` where they were never heard again.

    A line that is of another record, of an entry that is not there any more, or not whole, counts
    as not written; so does a file that cannot be read.
    """
    try:
        text = path_beside(record).read_text("utf-8", errors="replace")
    except OSError:
        return None
    first, *rest = text.split("\n")
    head = _object(first)
    versions = head.get("versions")
    if head.get("format") != FORMAT or head.get("root") != examined.report.root:
        return None
    if not isinstance(versions, dict):
        return None
    hashes = {entry.seq: entry.hash for entry in examined.entries}
    lines = (_line(_object(line)) for line in rest)
    found = {line.seq: line for line in lines if line and hashes.get(line.seq) == line.hash}
    return Relistening({str(k): str(v) for k, v in versions.items()}, tuple(found.values()))


class Writer:
    """Appends lines to a record's file; what is written stays when the program is stopped.

    Raises:
        RecordError: it cannot be written.
    """

    def __init__(self, record: Path, root: str, known: Relistening) -> None:
        """Writes the file anew with the lines known."""
        self._path = path_beside(record)
        head = {"format": FORMAT, "root": root, "versions": dict(known.versions)}
        lines = [json.dumps(head, ensure_ascii=False), *map(_written, known.lines)]
        fresh = self._path.with_name(f"{self._path.name}.new")
        try:
            fresh.unlink(missing_ok=True)
            private.make_file(fresh)
            fresh.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
            fresh.replace(self._path)
        except OSError as error:
            raise trouble(self._path, error) from error

    def append(self, line: Relistened) -> None:
        """Write one line."""
        try:
            with self._path.open("a", encoding="utf-8") as file:
                file.write(f"{_written(line)}\n")
        except OSError as error:
            raise trouble(self._path, error) from error


def _written(line: Relistened) -> str:
    return json.dumps({**asdict(line), "worry": line.worry}, ensure_ascii=False)


def _object(text: str) -> dict[str, object]:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


_KINDS = {"seq": int, "critical": bool, "now": list}


def _line(data: dict[str, object]) -> Relistened | None:
    """A line as it was written; ``None`` where it is not whole."""
    wanted = {field.name for field in fields(Relistened)}
    given = {name: value for name, value in data.items() if name in wanted}
    if set(given) != wanted or any(
        type(value) is not _KINDS.get(name, str) for name, value in given.items()
    ):
        return None
    now = data["now"]
    if not isinstance(now, list) or not all(isinstance(one, str) for one in now):
        return None
    try:
        finding = Finding(str(data["finding"]))
    except ValueError:
        return None
    return Relistened(**{**given, "finding": finding, "now": tuple(now)})  # type: ignore[arg-type]
