"""The first page: one row for each aircraft (or whatever is inspected), the worst first.

Pure. The last walk tells how it stands; what an earlier walk found and no later one has looked at
again is carried on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from voicewalk.review.glance import Glance, State
from voicewalk.review.needs import Grade, Need, grade_of


@dataclass(frozen=True)
class Carried:
    """A need that an earlier walk has left."""

    need: Need
    walk: Glance


@dataclass(frozen=True)
class Row:
    """One aircraft.

    Attributes:
        last: its last walk.
        needs: what needs the lead in the last walk, and is not settled.
        carried: what earlier walks found and no later one has looked at again.
        earlier: how many walks there are before the last.
    """

    last: Glance
    needs: tuple[Need, ...]
    carried: tuple[Carried, ...]
    earlier: int

    @property
    def grade(self) -> Grade:
        """The worst of it."""
        return grade_of((*self.needs, *(one.need for one in self.carried)))

    @property
    def worst(self) -> tuple[Need, ...]:
        """What its grade comes from, of the last walk or carried on."""
        found = (*self.needs, *(one.need for one in self.carried))
        return tuple(need for need in found if need.grade is self.grade)


def board(glances: Iterable[Glance]) -> tuple[Row, ...]:
    """The rows: by grade, within it the latest first."""
    walks: dict[tuple[str, str], list[Glance]] = {}
    for glance in glances:
        alone = glance.name if glance.state is State.UNREADABLE else ""
        walks.setdefault((glance.identity.casefold(), alone), []).append(glance)
    rows = [_row(sorted(of_one, key=_when)) for of_one in walks.values()]
    rows.sort(key=lambda row: _when(row.last), reverse=True)
    return tuple(sorted(rows, key=lambda row: row.grade))


def latest(glances: Iterable[Glance]) -> tuple[Glance, ...]:
    """All walks, the latest first."""
    return tuple(sorted(glances, key=_when, reverse=True))


def _when(glance: Glance) -> tuple[str, str]:
    """A walk that goes on in the evening is the aircraft's last: by its end in the walk."""
    return glance.ended or glance.begun, glance.name


def _row(walks: list[Glance]) -> Row:
    last = walks[-1]
    own = tuple(need for need in last.needs if not need.settled)
    return Row(last, own, tuple(_carried(walks)), len(walks) - 1)


def _carried(walks: list[Glance]) -> Iterator[Carried]:
    """From the last walk back: a later result of the same item on the same card settles it."""
    for place in range(len(walks) - 2, -1, -1):
        walk = walks[place]
        later = [one for one in walks[place + 1 :] if one.card_id == walk.card_id]
        for need in walk.needs:
            found = need.item and need.grade < Grade.IN_DOUBT
            if found and not any(need.item in one.results for one in later):
                yield Carried(replace(need, what=f"{need.what}, earlier walk"), walk)
