"""A walk from typed lines: what is typed goes through the graph, the walk and the wording.

No microphone, no file: the record is a list. Typed lines skip the ears and nothing else.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import Card, GoBack
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.typed import read_typed
from voicewalk.language.build import phrase_graph
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import Act, Meaning
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.session.loop import input_of
from voicewalk.settings import WalkSettings
from voicewalk.voice.wording import Wording
from voicewalk.walk.machine import Walk
from voicewalk.walk.messages import (
    INSPECTOR,
    SECOND,
    Append,
    Appended,
    Call,
    Effect,
    Input,
    Interrupted,
    Json,
    Say,
    SetTimer,
    Start,
    Tick,
)
from voicewalk.walk.replay import replay

ENGLISH = Wording("en")


@cache
def aircraft(name: str) -> tuple[Card, PhraseGraph]:
    card = load_card(card_path(name))
    return card, phrase_graph(card, vocabulary_of(card))


class Stand:
    """One aircraft, its walk and its record.

    Attributes:
        kept: bodies of the entries.
        said: what the tool has said since the last line.
    """

    def __init__(
        self, after_interruption: GoBack | None = None, card: str = "light-turboprop"
    ) -> None:
        card, self.graph = aircraft(card)
        self.card = replace(card, after_interruption=after_interruption)
        self.walk = Walk(self.card, WalkSettings())
        self.kept: list[Json] = []
        self.said: list[str] = []
        self.timers: list[str] = []
        self.receive(Start("EX-1", "inspector A", second="second B" if card.second else ""))

    def type(self, *lines: str) -> Stand:
        """Each line as the command ``walk --typed`` takes it: it must be a call of the card."""
        return self._type(INSPECTOR, lines)

    def second(self, *lines: str) -> Stand:
        """The same, typed by the second person."""
        return self._type(SECOND, lines)

    def _type(self, by: str, lines: tuple[str, ...]) -> Stand:
        for line in lines:
            self.said = []
            heard = read_typed(self.graph, line)
            assert heard.verdict is Verdict.UNDERSTOOD, f"not understood: {line}"
            self.receive(input_of(heard, heard.verdict, heard.evidence, by))
        return self

    def silent(self) -> Stand:
        """Nobody answers the second person's question, nor its repetition."""
        for _ in range(2):
            self.receive(Tick([one for one in self.timers if one.startswith("second-")][-1]))
        return self

    def interrupt(self, *identities: str, minutes: int = 4) -> Stand:
        """The program stopped for so long; then the identity is typed, once or until it fits."""
        self.receive(Interrupted(minutes * 60_000))
        return self.identify(*identities)

    def identify(self, *identities: str) -> Stand:
        """Each typed where an identity is asked for: of the aircraft, or of who takes over."""
        for identity in identities:
            self.said = []
            self.receive(Call(Meaning(Act.IDENTITY, value=identity), identity, {"how": "typed"}))
        return self

    def receive(self, given: Input) -> None:
        self.carry_out(self.walk.receive(given))

    def carry_out(self, effects: tuple[Effect, ...]) -> None:
        for effect in effects:
            if isinstance(effect, SetTimer):
                self.timers.append(effect.timer)
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
