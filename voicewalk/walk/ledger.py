"""The present result of every item: which entries stand, what is open, in which order.

Pure. A ledger is a value: entering or withdrawing gives a new one. Which entry replaces
which, and which items it opens again, is decided by ``rules``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property

from voicewalk.card.model import Card
from voicewalk.walk.entries import Entered
from voicewalk.walk.terms import Result


@dataclass(frozen=True, slots=True)
class Standing:
    """A result that is neither replaced nor withdrawn, with the number of its entry."""

    seq: int
    entered: Entered


@dataclass(frozen=True)
class Ledger:
    """The present results of one walk.

    Attributes:
        standing: by item id, its standing results in order. More than one only where an item
            has several discrepancies; none where all were withdrawn. An item that never had a
            result has no key.
        reopened: ids of items that have results and are open all the same.
        done: ids of the items that are not open. It follows from the rest and is kept beside it:
            what is open is asked of every item after every entry.
    """

    card: Card
    standing: dict[str, tuple[Standing, ...]] = field(default_factory=dict)
    reopened: frozenset[str] = frozenset()
    done: frozenset[str] = field(default=frozenset(), compare=False)

    def enter(self, seq: int, entered: Entered) -> Ledger:
        """With a new result, which closes its item and opens those it names."""
        kept = self.of(entered.item)
        if entered.replaces:
            kept = tuple(one for one in kept if one.seq < entered.replaces)
        standing = {**self.standing, entered.item: (*kept, Standing(seq, entered))}
        reopened = (self.reopened - {entered.item}) | set(entered.reopens)
        return self._with(standing, reopened, (entered.item, *entered.reopens))

    def withdraw(self, seq: int) -> Ledger:
        """Without the entry ``seq``; nothing changes where it does not stand."""
        of = {
            item: tuple(one for one in kept if one.seq != seq)
            for item, kept in self.standing.items()
            if any(one.seq == seq for one in kept)
        }
        return self._with({**self.standing, **of}, self.reopened, of)

    def reopen(self, items: Iterable[str]) -> Ledger:
        """With these items open again; what stands of them is kept."""
        again = frozenset(items)
        return replace(self, reopened=self.reopened | again, done=self.done - again)

    def _with(
        self,
        standing: dict[str, tuple[Standing, ...]],
        reopened: frozenset[str],
        changed: Iterable[str],
    ) -> Ledger:
        """With other results, of the items ``changed`` only."""
        items = frozenset(changed)
        closed = {
            item
            for item in items
            if standing.get(item) and item not in reopened and not _left_open(standing[item])
        }
        done = (self.done - items) | closed
        return Ledger(self.card, standing, reopened, done)

    def of(self, item: str) -> tuple[Standing, ...]:
        """The standing results of an item, in order; also of one that was opened again."""
        return self.standing.get(item, ())

    def is_open(self, item: str) -> bool:
        """Whether the item must (still, or again) be called."""
        return item not in self.done

    def result(self, item: str) -> Result | None:
        """The present result, ``None`` while the item is open. A discrepancy outweighs all."""
        if self.is_open(item):
            return None
        results = [one.entered.result for one in self.of(item)]
        return Result.DISCREPANCY if Result.DISCREPANCY in results else results[-1]

    @cached_property
    def open(self) -> tuple[str, ...]:
        """Ids of the open items, in card order."""
        done = self.done
        return tuple(item for item in self.card.by_id if item not in done)

    def open_after(self, item: str) -> tuple[str, ...]:
        """The open items that follow ``item`` in card order, then the rest; ``item`` is last.

        With "" for ``item``, all open ones in card order.
        """
        place = self.card.place
        still = self.open
        turn = bisect_right(still, place[item], key=place.__getitem__) if item else 0
        return (*still[turn:], *still[:turn])

    @cached_property
    def latest(self) -> Standing | None:
        """The last confirmed entry: the newest that stands and whose item was not opened again."""
        some = (kept[-1] for i, kept in self.standing.items() if kept and i not in self.reopened)
        return max(some, key=lambda one: one.seq, default=None)

    def counts(self) -> dict[Result, int]:
        """How many items have each result."""
        found = Counter(self.result(item) for item in self.card.by_id)
        return {result: found[result] for result in Result if result is not Result.OPEN}


def _left_open(kept: tuple[Standing, ...]) -> bool:
    """Whether what was called last leaves an item open; a discrepancy does not end that, but a
    number that is wrong and final does."""
    called = (one.entered for one in kept)
    ends = [one.result for one in called if one.count or one.result is not Result.DISCREPANCY]
    return ends[-1:] == [Result.OPEN]
