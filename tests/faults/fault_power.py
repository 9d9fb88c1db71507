"""What a power cut can leave of a folder, computed from the log of shim.c.

The model is POSIX's at its worst. Data that were not synced since may be on the disk or not,
each write by itself, and each sector of 512 bytes by itself. The same holds for names: a file
that was created or removed is so for certain only when its folder was synced since. What a
failed sync was to make durable is lost for good, although a later sync succeeds: so it is on
Linux (Rebello et al., "Can Applications Recover from fsync Failures?", USENIX ATC 2020; from
memory).
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path

SECTOR = 512
FEW = 5
"""Of so many changes all subsets are tried."""


@dataclass(frozen=True)
class Operation:
    """One line of the log; see shim.c."""

    what: str
    name: str
    at: int
    length: int
    data: bytes = b""


@dataclass(eq=False)
class Stored:
    """A file on the disk: what is durable of it, and the changes made since."""

    durable: bytearray = field(default_factory=bytearray)
    pending: list[Operation] = field(default_factory=list)


@dataclass(frozen=True)
class State:
    """What a power cut leaves.

    Attributes:
        said: the words that the program had put into the log before it.
        files: by name.
        moment: number of the sync that it comes before.
        kind: how much of what was not synced is on the disk.
    """

    said: tuple[str, ...]
    files: dict[str, bytes]
    moment: int
    kind: str


def operations(log: Path) -> Iterator[Operation]:
    """The log, line by line."""
    with log.open("rb") as file:
        for line in file:
            what, name, at, length = line.decode().split()
            data = file.read(int(length)) if what == "write" else b""
            yield Operation(what, name, int(at), int(length), data)


class Disk:
    """Takes the operations of a log one by one; tells at any moment what a power cut leaves."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self._names: dict[str, Stored] = {}
        self._durable_names: dict[str, Stored] = {}
        self._renamed: list[tuple[str, Stored | None]] = []

    def take(self, one: Operation) -> None:
        match one.what:
            case "mark":
                self.said.append(one.name)
            case "create":
                self._name(one.name, Stored())
            case "unlink":
                self._name(one.name, None)
            case "write" | "truncate":
                self._names[one.name].pending.append(one)
            case "synced" if one.name == ".":
                self._durable_names = dict(self._names)
                self._renamed.clear()
            case "synced":
                self._sync(self._names[one.name])
            case "fault" if one.at == ord("s") and one.name != ".":
                self._names[one.name].pending.clear()

    def _name(self, name: str, stored: Stored | None) -> None:
        if stored is None:
            self._names.pop(name)
        else:
            self._names[name] = stored
        self._renamed.append((name, stored))

    def _sync(self, stored: Stored) -> None:
        for change in stored.pending:
            apply(stored.durable, change)
        stored.pending.clear()

    def states(self, moment: int, chance: random.Random, drawn: int) -> Iterator[State]:
        """What a power cut leaves now: nothing of what was not synced, all of it, every subset
        where there are few changes and else ``drawn`` of them, and torn sectors."""
        changes = len(self._renamed) + sum(len(one.pending) for one in self._all())
        if changes <= FEW:
            for keep in product((False, True), repeat=changes):
                yield self._cut(moment, "subset", list(keep), None)
        else:
            yield self._cut(moment, "none", [False] * changes, None)
            yield self._cut(moment, "all", [True] * changes, None)
            for _ in range(drawn):
                keep = [chance.random() < 0.5 for _ in range(changes)]
                yield self._cut(moment, "subset", keep, None)
        for _ in range(drawn if changes else 0):
            yield self._cut(moment, "torn", [True] * changes, chance)

    def _all(self) -> list[Stored]:
        """Every file that may have a name afterwards."""
        found = [*self._durable_names.values(), *(one for _, one in self._renamed if one)]
        return [one for number, one in enumerate(found) if one not in found[:number]]

    def _cut(
        self, moment: int, kind: str, keep: list[bool], tearing: random.Random | None
    ) -> State:
        keeps = iter(keep)
        names = dict(self._durable_names)
        for name, stored in self._renamed:
            if next(keeps):
                names.pop(name, None)
                names |= {name: stored} if stored else {}
        contents = {}
        for stored in self._all():
            content = bytearray(stored.durable)
            for change in stored.pending:
                if next(keeps):
                    for part in sectors(change) if tearing else (change,):
                        if tearing is None or tearing.random() < 0.5:
                            apply(content, part)
            contents[id(stored)] = bytes(content)
        files = {name: contents[id(stored)] for name, stored in names.items()}
        return State(tuple(self.said), files, moment, kind)


def apply(content: bytearray, change: Operation) -> None:
    """Make one change to the bytes of a file."""
    if change.what == "truncate":
        del content[change.at :]
        content.extend(bytes(change.at - len(content)))
    else:
        content.extend(bytes(max(0, change.at - len(content))))
        content[change.at : change.at + len(change.data)] = change.data


def sectors(change: Operation) -> Iterator[Operation]:
    """A write as the writes of its sectors; anything else as it is."""
    if change.what != "write":
        yield change
        return
    at, data = change.at, change.data
    while data:
        length = SECTOR - at % SECTOR
        yield Operation("write", change.name, at, len(data[:length]), data[:length])
        at, data = at + length, data[length:]


def power_cuts(log: Path, seed: int, drawn: int) -> Iterator[State]:
    """All that power cuts can leave: at every moment just before a sync, and at the end."""
    disk, chance, moment = Disk(), random.Random(seed), 0
    for one in operations(log):
        if one.what == "syncing":
            moment += 1
            yield from disk.states(moment, chance, drawn)
        disk.take(one)
    yield from disk.states(moment + 1, chance, drawn)
