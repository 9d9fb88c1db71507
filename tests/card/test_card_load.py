"""Loading a card: what is written becomes items, and each fault is refused at its place."""

from __future__ import annotations

import hashlib
from decimal import Decimal
from pathlib import Path

import pytest
from card_marked import card, write

from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import Kind, Readback, Side, State
from voicewalk.errors import SourceError, VoicewalkError


def load(folder, items="", **kwargs):
    path, _ = write(folder, card(items, **kwargs))
    return load_card(path)


ONE_OF_EACH = """\
    - name: pump casing
      also: casing / outer casing
      defects: [skin, leak]
    - name: inlet valve
      state: {good: open, bad: [closed / not open, stuck]}
      critical: true
      readback: confirm
    - name: oil pressure
      reading: psi
      limit: {low: 20, high: 30.5, unit: psi, reference: pump handbook 3-1}
      needs: inlet-valve
    - name: cover bolts
      count: 8
      reopened_by: pump-casing
    """


def test_each_kind_is_told_by_its_key(tmp_path):
    assert [item.kind for item in load(tmp_path, ONE_OF_EACH)] == [
        Kind.CONDITION,
        Kind.STATE,
        Kind.READING,
        Kind.COUNT,
    ]


def test_all_that_is_written_is_on_the_item(tmp_path):
    casing, valve, pressure, bolts = load(tmp_path, ONE_OF_EACH)
    assert (casing.id, casing.group, casing.side) == ("pump-casing", "pump-casing", Side.NONE)
    assert casing.aliases == ("casing", "outer casing")
    assert casing.bare_names == ()
    assert casing.defects == ("skin", "leak", "general")
    assert valve.states == (
        State("open", (), True),
        State("closed", ("not open",), False),
        State("stuck", (), False),
    )
    assert valve.critical
    assert valve.readback is Readback.CONFIRM
    assert pressure.unit == "psi"
    assert pressure.limit is not None
    assert (pressure.limit.low, pressure.limit.high) == (Decimal(20), Decimal("30.5"))
    assert pressure.limit.reference == "pump handbook 3-1"
    assert pressure.needs == ("inlet-valve",)
    assert bolts.expected == 8
    assert bolts.reopened_by == ("pump-casing",)


def test_values_are_read_back_in_full_and_plain_results_short(tmp_path):
    casing, _, pressure, bolts = load(tmp_path, ONE_OF_EACH)
    assert casing.readback is Readback.SHORT
    assert pressure.readback is Readback.FULL
    assert bolts.readback is Readback.FULL


def test_an_item_remembers_its_line(tmp_path):
    loaded = load(tmp_path, ONE_OF_EACH)
    text = (tmp_path / "card.yaml").read_text().splitlines()
    for item in loaded:
        assert text[item.line - 1].strip() == f"- name: {item.name}"


def test_an_id_of_its_own_outlives_a_new_name(tmp_path):
    (item,) = load(tmp_path, "- name: outer casing\n  id: casing\n")
    assert item.id == "casing"


def test_the_card_keeps_path_and_digest_of_its_file(tmp_path):
    loaded = load(tmp_path, ONE_OF_EACH)
    path = tmp_path / "card.yaml"
    assert loaded.path == str(path)
    assert loaded.digest == hashlib.sha256(path.read_bytes()).hexdigest()


def test_a_vocabulary_beside_the_card_goes_before_the_one_shipped(tmp_path):
    (tmp_path / "english.yaml").write_text("families: {bearing: {}}\n")
    (item,) = load(tmp_path, "- name: pump casing\n  defects: bearing\n")
    assert item.defects == ("bearing", "general")


REFUSED = {
    "same name": (
        "- name: pump casing\n- ¦name: pump casing\n",
        "2 items have the id 'pump-casing'",
        "Name them differently",
    ),
    "same spoken name": (
        "- name: pump casing\n  id: one\n- name: ¦pump casing\n",
        "ambiguous name 'pump casing': 'pump casing' (line 11) is called so too",
        "a name of its own",
    ),
    "same name but for a hyphen": (
        "- name: pump-casing\n  id: one\n- name: ¦pump casing\n  id: two\n",
        "ambiguous name 'pump casing'",
        "a name of its own",
    ),
    "alias is another's name": (
        "- name: pump casing\n- name: ¦motor casing\n  also: pump casing\n",
        "ambiguous name 'pump casing'",
        "a name of its own",
    ),
    "alias written twice": (
        "- ¦name: pump casing\n  also: casing / casing\n",
        "'casing' is written twice",
        "Keep one.",
    ),
    "bare name is another's name": (
        "- name: casing\n- name: ¦pump casing\n  also: casing\n  sides: [left, right]\n",
        "ambiguous name 'casing'",
        "a name of its own",
    ),
    "bare name of two": (
        "- name: casing\n  sides: [left, right]\n"
        "- name: ¦pump casing\n  also: casing\n  sides: [left, right]\n",
        "ambiguous name 'left casing'",
        "a name of its own",
    ),
    "digit in a name": (
        "- name: ¦tank 2 cap\n",
        "unknown word '2'",
        "a digit as a word ('two')",
    ),
    "capital in a name": ("- name: ¦Pump casing\n", "unknown word 'Pump'", "lower-case"),
    "capital of another script": ("- name: ¦Насос\n", "unknown word 'Насос'", "lower-case"),
    "empty name": ("- name: ¦''\n", "unknown word ''", "as it is spoken"),
    "empty alias": (
        "- name: pump casing\n  also: ¦casing /\n",
        "unknown word ''",
        "as it is spoken",
    ),
    "digit in a state": (
        "- name: valve\n  ¦state: {good: open, bad: [not open, stage 2]}\n",
        "unknown word '2'",
        "as a word",
    ),
    "reading without a unit": (
        "- name: oil pressure\n  ¦reading:\n",
        "the reading of 'oil pressure' has no unit",
        "such as 'reading: psi'",
    ),
    "unknown unit": (
        "- name: oil pressure\n  reading: ¦psy\n",
        "unknown unit 'psy'",
        "Did you mean 'psi'?",
    ),
    "limit without a unit": (
        "- name: oil pressure\n  reading: psi\n  ¦limit: {low: 1, reference: r}\n",
        "the limit of 'oil pressure' has no unit",
        "such as 'unit: psi'",
    ),
    "limit in another unit": (
        "- name: oil pressure\n  reading: psi\n  limit: {low: 1, unit: ¦bar, reference: r}\n",
        "is in bar, its reading in psi",
        "nothing is converted",
    ),
    "limit without a reference": (
        "- name: oil pressure\n  reading: psi\n  ¦limit: {low: 1, unit: psi}\n",
        "does not say where it comes from",
        "reference",
    ),
    "limit without numbers": (
        "- name: oil pressure\n  reading: psi\n  ¦limit: {unit: psi, reference: r}\n",
        "neither 'low' nor 'high'",
        "at least one",
    ),
    "limit upside down": (
        "- name: oil pressure\n  reading: psi\n"
        "  limit: {low: ¦3, high: 2.5, unit: psi, reference: r}\n",
        "low 3, high 2.5",
        "Swap",
    ),
    "limit of a condition": (
        "- name: pump casing\n  ¦limit: {low: 1, unit: psi, reference: r}\n",
        "has a limit but no reading",
        "Write 'reading'",
    ),
    "state without a good one": (
        "- name: valve\n  ¦state: {bad: closed}\n",
        "'valve' has no good state",
        "good: closed",
    ),
    "state without a bad one": (
        "- name: valve\n  ¦state: {good: open}\n",
        "'valve' has no bad state",
        "bad: open / not closed",
    ),
    "good state that cannot be denied": (
        "- name: valve\n  ¦state: {good: open, bad: closed / unopen}\n",
        "no bad state of 'valve' is said with 'open'",
        "Add such as 'not open'",
    ),
    "state left empty": ("- name: valve\n  ¦state:\n", "'valve' has no good state", "Write it"),
    "good and bad the same": (
        "- name: valve\n  ¦state: {good: open, bad: [not open, open]}\n",
        "'open' is written 2 times",
        "Keep it in one state",
    ),
    "count without a number": (
        "- name: bolts\n  ¦count:\n",
        "does not say how many",
        "such as 'count: 4'",
    ),
    "count below zero": ("- name: bolts\n  count: ¦-1\n", "greater than or equal to 0", "Correct"),
    "two kinds": (
        "- name: bolts\n  count: ¦3\n  state: {good: tight, bad: loose}\n",
        "has both 'state' and 'count'",
        "two items",
    ),
    "unknown item in needs": (
        "- name: pump casing\n- name: bolts\n  count: 2\n  needs: ¦pump-casin\n",
        "'pump-casin' is no item of this card",
        "Did you mean 'pump-casing'?",
    ),
    "unknown item in reopened_by": (
        "- name: pump casing\n  ¦reopened_by: [bolts]\n",
        "'bolts' is no item of this card",
        "Known: pump-casing.",
    ),
    "needs itself": (
        "- name: pump casing\n  needs: ¦pump-casing\n",
        "'needs' runs in a circle: pump-casing -> pump-casing",
        "Remove one",
    ),
    "needs in a circle": (
        "- name: first\n  needs: ¦second\n- name: second\n  needs: third\n"
        "- name: third\n  needs: first\n",
        "'needs' runs in a circle: first -> second -> third -> first",
        "Remove one",
    ),
    "reopened in a circle": (
        "- name: first\n  reopened_by: ¦second\n- name: second\n  reopened_by: first\n",
        "'reopened_by' runs in a circle: first -> second -> first",
        "Remove one",
    ),
    "unknown defects": (
        "- name: pump casing\n  defects: [skin, ¦leaks]\n",
        "unknown defects 'leaks'",
        "Did you mean 'leak'?",
    ),
    "unknown key": (
        "- name: pump casing\n  ¦defect: skin\n",
        "unknown key 'defect'",
        "Did you mean 'defects'?",
    ),
    "unknown readback": (
        "- name: pump casing\n  readback: ¦loud\n",
        "'short', 'full' or 'confirm'",
        "Correct the value",
    ),
}


@pytest.mark.parametrize("fault", REFUSED)
def test_is_refused_at_its_place(tmp_path, fault):
    items, message, what_to_do = REFUSED[fault]
    path, where = write(tmp_path, card(items))
    with pytest.raises(SourceError) as caught:
        load_card(path)
    assert message in str(caught.value)
    assert caught.value.where == where
    assert what_to_do in caught.value.what_to_do


REFUSED_AROUND = {
    "no stations": ("vocabularies: english\n¦stations: []\n", "no stations", "Add a station"),
    "empty station": (
        "vocabularies: english\nstations:\n  - ¦station: pump room\n    phase: stopped\n",
        "'pump room' has no items",
        "Add an item",
    ),
    "station twice": (
        "vocabularies: english\nstations:\n"
        "  - ¦{station: room, phase: p, items: [{name: first}]}\n"
        "  - {station: room, phase: p, items: [{name: second}]}\n",
        "2 stations have the id 'room'",
        "Name them differently",
    ),
    "digit in a station": (
        "vocabularies: english\nstations:\n"
        "  - {station: ¦room 2, phase: p, items: [{name: first}]}\n",
        "unknown word '2'",
        "as a word",
    ),
    "no vocabulary": (
        "¦vocabularies: []\nstations: [{station: room, phase: p, items: [{name: first}]}]\n",
        "names no vocabulary",
        "vocabularies: english",
    ),
    "unknown vocabulary": (
        "vocabularies: [english, ¦klingon]\n"
        "stations: [{station: room, phase: p, items: [{name: first}]}]\n",
        "there is no vocabulary 'klingon'",
        "Put 'klingon.yaml' beside the card",
    ),
}


@pytest.mark.parametrize("fault", REFUSED_AROUND)
def test_is_refused_around_the_items(tmp_path, fault):
    rest, message, what_to_do = REFUSED_AROUND[fault]
    head = 'id: small\ntitle: t\nversion: "1"\nsubject: pump\ncaution: For tests.\n'
    path, where = write(tmp_path, head + rest)
    with pytest.raises(SourceError) as caught:
        load_card(path)
    assert message in str(caught.value)
    assert caught.value.where == where
    assert what_to_do in caught.value.what_to_do


def test_an_empty_caution_is_refused(tmp_path):
    path, where = write(
        tmp_path,
        'id: s\ntitle: t\nversion: "1"\nsubject: pump\ncaution: ¦""\nvocabularies: english\n'
        "stations: [{station: room, phase: p, items: [{name: first}]}]\n",
    )
    with pytest.raises(SourceError, match="no caution") as caught:
        load_card(path)
    assert caught.value.where == where


def test_all_faults_of_a_card_are_told(tmp_path):
    path, where = write(
        tmp_path, card("- name: ¦Pump\n- name: bolts\n  count:\n- name: valve\n  state:\n")
    )
    with pytest.raises(SourceError) as caught:
        load_card(path)
    assert caught.value.where == where
    assert [line.split(":")[1] for line in str(caught.value.args[0]).splitlines()] == [
        "11",
        "13",
        "15",
        "15",
    ]


def test_a_card_is_found_by_name():
    assert card_path("jet-trainer").name == "jet-trainer.yaml"
    assert card_path("jet-trainer").is_file()


@pytest.mark.parametrize("given", ["mine.yaml", "folder/mine", "./mine"])
def test_a_path_is_taken_as_it_is(given):
    assert card_path(given) == Path(given)


def test_an_unknown_name_is_refused_with_the_nearest_card():
    with pytest.raises(VoicewalkError, match="no card named 'jet-trianer'") as caught:
        card_path("jet-trianer")
    assert "Did you mean 'jet-trainer'?" in caught.value.what_to_do
    assert "english" not in caught.value.what_to_do
