"""The vocabulary file: it is whole, its words are one meaning each, and faults have a place."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicewalk.card.load import FOLDERS, find, load_card
from voicewalk.card.spoken import fold
from voicewalk.errors import SourceError
from voicewalk.language.meaning import OPTIONAL, Command
from voicewalk.language.units import UNITS
from voicewalk.language.vocabulary import Term, load_vocabulary, vocabulary_of

ENGLISH = find("english", FOLDERS)
assert ENGLISH is not None
WORDS = load_vocabulary(ENGLISH)
FAMILIES = pytest.mark.parametrize("family", WORDS.families.values(), ids=lambda f: f.name)


def test_the_first_way_to_say_it_is_its_name():
    assert WORDS.satisfactory == Term("satisfactory", WORDS.satisfactory.words)
    assert WORDS.satisfactory.words[0] == "satisfactory"
    for term in (*WORDS.reasons, *WORDS.places):
        assert term.words[0] == term.name


def test_every_command_has_words():
    assert set(WORDS.commands) == set(Command) - set(OPTIONAL)
    assert all(term.words for term in WORDS.commands.values())


# Words and meanings of ICAO Doc 9432 / Annex 10 Vol II 5.2.1.5.8 (second-hand) and SERA.14075.
@pytest.mark.parametrize(
    ("said", "command"),
    [
        ("affirm", Command.AFFIRM),
        ("negative", Command.NEGATIVE),
        ("correction", Command.CORRECTION),
        ("correction i say again", Command.CORRECTION),
        ("disregard", Command.DISREGARD),
        ("say again", Command.SAY_AGAIN),
        ("standby", Command.STAND_BY),
    ],
)
def test_radiotelephony_words_keep_their_meaning(said, command):
    assert [name for name, term in WORDS.commands.items() if said in term.words] == [command]


@pytest.mark.parametrize("word", ["okay", "roger", "checked", "done", "all", "yes", "no"])
def test_is_never_a_result_or_an_answer(word):
    """ "Checked" or "OK" stand for nothing where a state or a value is due; "roger" says
    received, and answers no question."""
    terms = [WORDS.satisfactory, WORDS.not_inspected, WORDS.not_applicable]
    terms += WORDS.commands.values()
    assert not [term.name for term in terms if word in term.words]


def test_the_opposite_of_every_result_word_can_be_said_of_any_item():
    """A lost "not" or "un-" may never turn bad into good: both must be candidates."""
    bad = {word for term in WORDS.families["general"].defects for word in term.words}
    for word in WORDS.satisfactory.words:
        assert word.startswith("no ") or f"not {word}" in bad
    assert {"unserviceable", "unsatisfactory"} <= bad


def test_twelve_clock_positions():
    hours = [term.name for term in WORDS.places if term.name.endswith(" o'clock")]
    assert len(hours) == 12


@FAMILIES
def test_a_family_is_short(family):
    assert 1 <= len(family.defects) <= 8


@FAMILIES
def test_sizes_have_units_that_can_be_spoken(family):
    names = {term.name for term in family.defects}
    assert set(family.sized) <= names
    assert set(family.size_units) <= set(UNITS)
    assert bool(family.sized) == bool(family.size_units)


@FAMILIES
def test_a_phrase_means_one_defect(family):
    said = [fold(word) for term in family.defects for word in term.words]
    assert len(said) == len(set(said))


# --- refusals ------------------------------------------------------------------------------


def altered(folder: Path, old: str, new: str) -> tuple[Path, str]:
    """The English file with one change, and the place of the mark in it."""
    text = ENGLISH.read_text(encoding="utf-8")
    assert text.count(old) == 1, old
    before, _, after = text.replace(old, new).partition("¦")
    path = folder / "english.yaml"
    path.write_text(before + after, encoding="utf-8")
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    return path, f"{path}:{line}:{column}"


REFUSED = {
    "missing command": (
        ("\ncommands:\n  affirm: affirm / affirmative\n", "\n¦commands:\n"),
        "no words for the command 'affirm'",
        "Add 'affirm: ...'",
    ),
    "unknown command": (
        ("  negative: negative\n", "  negative: negative\n  shout: ¦shout\n"),
        "unknown command 'shout'",
        "Known: ",
    ),
    "command said like another": (
        ("  negative: negative\n", "  negative: ¦negative / affirm\n"),
        "ambiguous: 'affirm' also stands in 'affirm / affirmative'",
        "Keep it in one term",
    ),
    "filler that is a result": (
        ("fillers: []", "fillers: [¦good]"),
        "ambiguous: 'good'",
        "Keep it in one term",
    ),
    "place that is a command": (
        ("  - outboard\n", "  - ¦outboard / next\n"),
        "ambiguous: 'next'",
        "Keep it in one term",
    ),
    "defect that is a result": (
        ("      - dirty\n", "      - ¦dirty / good\n"),
        "ambiguous: 'good'",
        "Keep it in one term",
    ),
    "defect of two terms": (
        ("      - crushed\n", "      - ¦crushed / kinked\n"),
        "ambiguous: 'kinked' also stands in 'kinked / kink'",
        "Keep it in one term",
    ),
    "defect that is a general one": (
        ("      - crushed\n", "      - ¦crushed / damaged\n"),
        "ambiguous: 'damaged'",
        "Keep it in one term",
    ),
    "reason of two terms": (
        ("  - panel closed\n", "  - ¦panel closed / no access\n"),
        "ambiguous: 'no access'",
        "Keep it in one term",
    ),
    "digit in a place": (
        ("  - one o'clock\n", "  - ¦1 o'clock\n"),
        "unknown word '1'",
        "a digit as a word",
    ),
    "capital in a reason": (
        ("  - panel closed\n", "  - ¦Panel closed\n"),
        "unknown word 'Panel'",
        "lower-case",
    ),
    "no general family": (
        ("\nfamilies:\n  general:\n", "\n¦families:\n  generals:\n"),
        "there is no family 'general'",
        "the opposite of 'satisfactory'",
    ),
    "size of no defect": (
        ("    sized: [cut, flat spot, bulge, slipped]", "    sized: [cut, ¦flat spots]"),
        "'flat spots' is no defect here",
        "Did you mean 'flat spot'?",
    ),
    "unknown size unit": (
        (
            "    sized: [scored]\n    size_units: [inch, millimetre]",
            "    sized: [scored]\n    size_units: [inch, ¦milimetre]",
        ),
        "unknown unit 'milimetre'",
        "Did you mean 'millimetre'?",
    ),
    "sizes without units": (
        (
            "  strut:\n    defects:\n      - fully compressed / bottomed out\n",
            "  ¦piston:\n    defects: [bent]\n    sized: bent\n"
            "  strut:\n    defects:\n      - fully compressed / bottomed out\n",
        ),
        "'piston' has only one of 'sized' and 'size_units'",
        "Write both",
    ),
    "unknown key": (
        ("because: [because, due to]", "¦becuase: [because]\nbecause: [because, due to]"),
        "unknown key 'becuase'",
        "Did you mean 'because'?",
    ),
    "family twice": (
        ("  wheel:\n", "  ¦tyre: {defects: [cut]}\n  wheel:\n"),
        'duplicate key "tyre"',
        "Keep one",
    ),
}


@pytest.mark.parametrize("fault", REFUSED)
def test_is_refused_at_its_place(tmp_path, fault):
    (old, new), message, what_to_do = REFUSED[fault]
    path, where = altered(tmp_path, old, new)
    with pytest.raises(SourceError) as caught:
        load_vocabulary(path)
    assert message in str(caught.value)
    assert caught.value.where == where
    assert what_to_do in caught.value.what_to_do


# --- a shop's own words --------------------------------------------------------------------


def addition(folder: Path, text: str) -> Path:
    path = folder / "shop.yaml"
    path.write_text(f"language: en\n{text}", encoding="utf-8")
    return path


def test_a_further_vocabulary_adds_words(tmp_path):
    shop = addition(
        tmp_path,
        "reasons: [shift ended]\nplaces: [flange]\n"
        "families: {bearing: {defects: [galled / galling]}}\n",
    )
    words = load_vocabulary(ENGLISH, shop)
    assert words.reasons == (*WORDS.reasons, Term("shift ended", ("shift ended",)))
    assert words.places[-1].name == "flange"
    assert words.families["bearing"].defects == (Term("galled", ("galled", "galling")),)
    assert words.commands == WORDS.commands


def test_a_hand_over_is_said_where_a_vocabulary_has_words_for_it():
    words = load_vocabulary(ENGLISH, find("hand-over", FOLDERS))
    assert set(words.commands) == set(Command)


@pytest.mark.parametrize(
    ("text", "message", "place"),
    [
        ("families: {tyre: {defects: [bald]}}\n", "the family 'tyre' is in another", ":2:12"),
        ("places: [inboard]\n", "ambiguous: 'inboard'", ":2:10"),
        ("reasons: [weather]\n", "ambiguous: 'weather'", ":2:11"),
        ("families: {bearing: {defects: [good]}}\n", "ambiguous: 'good'", ":2:32"),
        ("commands: {stop: halt}\n", "the command 'stop' is in another", ":2:18"),
        ("commands: {hand over: affirm}\n", "ambiguous: 'affirm'", ":2:23"),
        ("commands: {hand on: pass}\n", "unknown command 'hand on'", ":2:21"),
    ],
)
def test_a_further_vocabulary_may_not_change_what_is_there(tmp_path, text, message, place):
    shop = addition(tmp_path, text)
    with pytest.raises(SourceError) as caught:
        load_vocabulary(ENGLISH, shop)
    assert message in str(caught.value)
    assert caught.value.where.removeprefix(str(shop)) == place


CARD = """\
id: small
title: Small card
version: "1"
subject: pump
caution: A card for tests.
vocabularies: [english, shop]
stations:
  - station: pump room
    phase: stopped
    items:
      - name: pump casing
        defects: bearing
"""


def small(folder: Path, more: str) -> Path:
    addition(folder, "families: {bearing: {defects: [galled / galling]}}\n")
    path = folder / "card.yaml"
    path.write_text(CARD + more, encoding="utf-8")
    return path


def test_a_card_brings_its_vocabularies(tmp_path):
    words = vocabulary_of(load_card(small(tmp_path, "")))
    assert "bearing" in words.families
    assert "tyre" in words.families


@pytest.mark.parametrize(
    ("more", "word"),
    [
        ("      - name: next item\n", "next item"),
        ("      - name: tank\n        also: remark\n", "remark"),
        ("      - name: valve\n        state: {good: good, bad: not good}\n", "good"),
        ("      - name: valve\n        state: {good: open, bad: [not open, missing]}\n", "missing"),
        ("      - name: valve\n        state: {good: stop, bad: not stop}\n", "stop"),
    ],
)
def test_a_name_or_state_with_another_meaning_is_refused(tmp_path, more, word):
    card = load_card(small(tmp_path, more))
    with pytest.raises(SourceError, match=f"'{word}' of .* has another meaning") as caught:
        vocabulary_of(card)
    assert caught.value.where == f"{card.path}:13:1"
