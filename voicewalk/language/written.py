"""A vocabulary as people write it: the shape of its file, before anything is checked."""

from __future__ import annotations

from pydantic import Field

from voicewalk.card.source import Texts, Written


class WrittenResults(Written):
    """What is said of an item without a state or number."""

    satisfactory: str
    not_inspected: str
    not_applicable: str


class WrittenFamily(Written):
    """Defects of a kind of item."""

    defects: Texts
    sized: Texts = Field(default_factory=list)
    size_units: Texts = Field(default_factory=list)


class WrittenNear(Written):
    """Words of speech that comes near a call: what they are is said in ``vocabulary.NearCalls``."""

    articles: Texts = Field(default_factory=list)
    stating: Texts = Field(default_factory=list)
    denying: Texts = Field(default_factory=list)
    denied: Texts = Field(default_factory=list)
    opposites: dict[str, Texts] = Field(default_factory=dict)
    pending: Texts = Field(default_factory=list)
    pended: Texts = Field(default_factory=list)
    before: Texts = Field(default_factory=list)
    linking: Texts = Field(default_factory=list)
    behind: Texts = Field(default_factory=list)
    joining: Texts = Field(default_factory=list)


class WrittenAddition(Written):
    """A further vocabulary: what a shop may add to a whole one, and what it says in no result."""

    language: str
    commands: dict[str, str] = Field(default_factory=dict)
    reasons: Texts = Field(default_factory=list)
    families: dict[str, WrittenFamily] = Field(default_factory=dict)
    places: Texts = Field(default_factory=list)
    vague: Texts = Field(default_factory=list)
    statuses: Texts = Field(default_factory=list)
    status: Texts = Field(default_factory=list)
    both: Texts = Field(default_factory=list)
    owners: Texts = Field(default_factory=list)
    promises: Texts = Field(default_factory=list)
    somebody: Texts = Field(default_factory=list)
    mine: Texts = Field(default_factory=list)
    by: Texts = Field(default_factory=list)
    acknowledged: Texts = Field(default_factory=list)
    spelling: dict[str, str] = Field(default_factory=dict)


class WrittenVocabulary(WrittenAddition):
    """A whole vocabulary; a term is "first / second / third"."""

    results: WrittenResults
    because: Texts
    left: str
    right: str
    first: str
    second: str
    fillers: Texts = Field(default_factory=list)
    near_calls: WrittenNear = Field(default_factory=WrittenNear)


class WrittenTalk(Written):
    """Speech that lies near a call, as ``grammars/english-talk.yaml`` tells its words."""

    language: str
    singular: Texts = Field(default_factory=list)
    opposites: dict[str, str] = Field(default_factory=dict)
    positions: Texts = Field(default_factory=list)
    lists: dict[str, Texts] = Field(default_factory=dict)
    question: Texts
    order: Texts
    opposite: Texts
    future: Texts
    exception: Texts
    before: Texts
    inside: Texts
    behind: Texts
    two_calls: Texts
