"""The present result of every item: which entries stand, what is open, in which order.

Pure. A ledger is a value: entering or withdrawing gives a new one. Which entry replaces
which, and which items it opens again, is decided by ``rules``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

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
    """

    card: Card
    standing: dict[str, tuple[Standing, ...]] = field(default_factory=dict)
    reopened: frozenset[str] = frozenset()

    def enter(self, seq: int, entered: Entered) -> Ledger:
        """With a new result, which closes its item and opens those it names."""
        kept = self.of(entered.item)
        if entered.replaces:
            kept = tuple(one for one in kept if one.seq < entered.replaces)
        return replace(
            self,
            standing={**self.standing, entered.item: (*kept, Standing(seq, entered))},
            reopened=(self.reopened - {entered.item}) | set(entered.reopens),
        )

    def withdraw(self, seq: int) -> Ledger:
        """Without the entry ``seq``; nothing changes where it does not stand."""
        return replace(
            self,
            standing={
                item: tuple(one for one in kept if one.seq != seq)
                for item, kept in self.standing.items()
            },
        )

    def reopen(self, items: Iterable[str]) -> Ledger:
        """With these items open again; what stands of them is kept."""
        return replace(self, reopened=self.reopened | set(items))

    def of(self, item: str) -> tuple[Standing, ...]:
        """The standing results of an item, in order; also of one that was opened again."""
        return self.standing.get(item, ())

    def is_open(self, item: str) -> bool:
        """Whether the item must (still, or again) be called."""
        return not self.of(item) or item in self.reopened or self.left_open(item)

    def left_open(self, item: str) -> bool:
        """Whether what was called last leaves the item open; a discrepancy does not end that,
        but a number that is wrong and final does."""
        kept = self.of(item)
        if len(kept) == 1:  # nearly always, and asked of every item after every entry
            return kept[0].entered.result is Result.OPEN
        called = (one.entered for one in kept)
        ends = [one.result for one in called if one.count or one.result is not Result.DISCREPANCY]
        return ends[-1:] == [Result.OPEN]

    def result(self, item: str) -> Result | None:
        """The present result, ``None`` while the item is open. A discrepancy outweighs all."""
        if self.is_open(item):
            return None
        results = [one.entered.result for one in self.of(item)]
        return Result.DISCREPANCY if Result.DISCREPANCY in results else results[-1]

    @property
    def open(self) -> tuple[str, ...]:
        """Ids of the open items, in card order."""
        return tuple(item for item in self.card.by_id if self.is_open(item))

    def open_after(self, item: str) -> tuple[str, ...]:
        """The open items that follow ``item`` in card order, then the rest; ``item`` is last.

        With "" for ``item``, all open ones in card order.
        """
        ids = list(self.card.by_id)
        turn = ids.index(item) + 1 if item else 0
        return tuple(one for one in (*ids[turn:], *ids[:turn]) if self.is_open(one))

    def latest(self) -> Standing | None:
        """The last confirmed entry: the newest that stands and whose item was not opened again."""
        some = (kept[-1] for i, kept in self.standing.items() if kept and i not in self.reopened)
        return max(some, key=lambda one: one.seq, default=None)

    def counts(self) -> dict[Result, int]:
        """How many items have each result."""
        found = Counter(self.result(item) for item in self.card.by_id)
        return {result: found[result] for result in Result if result is not Result.OPEN}
