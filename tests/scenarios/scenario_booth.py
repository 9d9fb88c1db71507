"""A walk from typed lines: what is typed goes through the graph, the walk and the wording.

No microphone, no file: the record is a list. Typed lines skip the ears and nothing else.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import Card, GoBack
from voicewalk.hearing.heard import Heard, Verdict
from voicewalk.hearing.typed import read_typed
from voicewalk.language.build import phrase_graph
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.settings import WalkSettings
from voicewalk.voice.wording import Wording
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import (
    Append,
    Appended,
    Call,
    Effect,
    Input,
    Interrupted,
    Json,
    Say,
    Start,
    Unclear,
)
from voicewalk.walk.replay import replay

ENGLISH = Wording("en")


@cache
def aircraft() -> tuple[Card, PhraseGraph]:
    card = load_card(card_path("light-turboprop"))
    return card, phrase_graph(card, vocabulary_of(card))


class Stand:
    """One aircraft, its walk and its record.

    Attributes:
        kept: bodies of the entries.
        said: what the tool has said since the last line.
    """

    def __init__(self, after_interruption: GoBack | None = None) -> None:
        card, self.graph = aircraft()
        self.card = replace(card, after_interruption=after_interruption)
        self.walk = Walk(self.card, WalkSettings())
        self.kept: list[Json] = []
        self.said: list[str] = []
        self.receive(Start("EX-1", "inspector A"))

    def type(self, *lines: str) -> Stand:
        """Each line as the command ``walk --typed`` takes it: it must be a call of the card."""
        for line in lines:
            self.said = []
            heard = read_typed(self.graph, line)
            assert heard.verdict is Verdict.UNDERSTOOD, f"not understood: {line}"
            self.receive(_input(heard))
        return self

    def interrupt(self, *identities: str, minutes: int = 4) -> Stand:
        """The program stopped for so long; then the identity is typed, once or until it fits."""
        self.receive(Interrupted(minutes * 60_000))
        for identity in identities:
            self.said = []
            self.receive(Call(Meaning(Act.IDENTITY, value=identity), identity, {"how": "typed"}))
        return self

    def receive(self, given: Input) -> None:
        self.carry_out(self.walk.receive(given))

    def carry_out(self, effects: tuple[Effect, ...]) -> None:
        for effect in effects:
            if isinstance(effect, Say):
                self.said.append(ENGLISH.text(effect))
            if isinstance(effect, Append):
                self.kept.append(effect.body)
                self.carry_out(self.walk.receive(Appended(len(self.kept))))

    def of(self, item: str) -> list[Json]:
        """The entries of an item, in order."""
        return [body for body in self.kept if body.get("item") == item and body["kind"] == "item"]

    def open(self, *items: str) -> bool:
        """Whether all of these are open; of a closed walk none is."""
        return set(items) <= set(self.walk.view().open)

    @property
    def last(self) -> Json:
        return self.kept[-1]

    @property
    def heard_back(self) -> str:
        return " ".join(self.said)

    def finish(self, *but: str) -> Stand:
        """Close all that is open but for these, each in the plainest way; then the walk."""
        for item in self.walk.view().open:
            if item not in but and not self.card.by_id[item].balances:
                self.type(f"{self.card.by_id[item].name} not inspected because no access")
                if self.walk.view().question:
                    self.type("affirm")
        return self.type("walkaround complete")

    def replays(self) -> bool:
        again = replay(self.card, enumerate(self.kept, start=1), WalkSettings())
        return again.memory == self.walk.memory


def _input(heard: Heard) -> Input:
    candidates = tuple((one.meaning, one.words) for one in heard.candidates)
    if heard.verdict is Verdict.UNDERSTOOD:
        return Call(*candidates[0], heard.evidence)
    return Unclear(candidates, heard.evidence)
