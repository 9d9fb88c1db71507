"""Hearing again: what no longer agrees is found, nothing is heard twice, the record stays."""

from __future__ import annotations

import json
import re
import shutil

import pytest
from relisten_booth import Ears, Maker, Said, ended
from test_session_opening import Lines

from voicewalk.card.load import card_path, load_card
from voicewalk.errors import RecordError
from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.meaning import Act, Meaning
from voicewalk.record.file import RecordReader
from voicewalk.record.relistened import Finding, path_beside, read_relistened, worst_first
from voicewalk.record.verify import examine
from voicewalk.session import relisten as module
from voicewalk.session import relistening
from voicewalk.session.equipment import Calls
from voicewalk.session.relisten import finding, relisten
from voicewalk.session.relistening import records_of, relisten_all
from voicewalk.session.walking import begin_walk
from voicewalk.walk.messages import Call, Unclear
from voicewalk.walk.replay import ReplayMismatch

JET = load_card(card_path("jet-trainer"))

NAMED = (Said("radome satisfactory"), Said("left pitot cover removed"), Said("nose tyre"))


@pytest.fixture
def maker():
    return Maker(JET)


@pytest.fixture
def opened(monkeypatch, maker):
    """How often ears were opened; ``hears`` sets what they hear."""

    class Opened(list):
        heard: dict = {}  # noqa: RUF012
        ears: Ears

        def hears(self, *said):
            self.heard = dict(enumerate(said))

    times = Opened()

    def ears(card, vocabulary, width):
        times.append((card.id, vocabulary.language, width))
        times.ears = Ears(maker, times.heard)
        return times.ears

    module._ears.clear()
    monkeypatch.setattr(module, "open_ears", ears)
    yield times
    module._ears.clear()


def findings(done):
    return {line.seq: line.finding for line in done.lines}


def test_a_record_that_agrees(tmp_path, maker, opened):
    record = maker.record(tmp_path / "a.walk", NAMED)
    before = record.read_bytes()
    opened.hears(*NAMED)
    done = relisten(record)
    assert findings(done) == dict.fromkeys((2, 3, 4), Finding.AGREES)
    assert worst_first(done.lines) == []
    assert (done.heard, done.trouble, done.stopped) == (3, "", False)
    assert opened == [("jet-trainer", "en", 3)]
    assert record.read_bytes() == before


def test_an_entry_made_from_another_hearing_is_found(tmp_path, maker, opened):
    record = maker.record(tmp_path / "a.walk", NAMED)
    opened.hears(Said("radome dented", "0.910"), *NAMED[1:])
    done = relisten(record)
    (worst,) = worst_first(done.lines)
    assert (worst.seq, worst.finding, worst.name) == (2, Finding.OTHER, "radome")
    assert (worst.was, worst.was_probability) == ("radome satisfactory", "0.990")
    assert (worst.now, worst.probability) == (("radome dented",), "0.910")
    assert worst.reason == "as the test says"
    assert read_relistened(record, examine(record)).lines == done.lines


def test_the_most_worrying_comes_first(tmp_path, maker, opened):
    calls = (
        Said("radome satisfactory"),
        Said("left pitot cover removed"),  # critical, and good
        Said("nose tyre cut"),
        Said("nose strut satisfactory"),
    )
    record = maker.record(tmp_path / "a.walk", calls)
    opened.hears(
        Said("radome satisfactory", "0.700"),
        Said("left pitot cover installed"),
        Said("nose tyre satisfactory"),
        Said("nose strut satisfactory|nose strut not satisfactory", "0.6", Verdict.ASK),
    )
    assert [(one.seq, one.finding) for one in worst_first(relisten(record).lines)] == [
        (3, Finding.OTHER),
        (4, Finding.OTHER),
        (5, Finding.ASKED),
        (2, Finding.LESS_SURE),
    ]


GOOD = Meaning(Act.SATISFACTORY, item="radome")
BAD = Meaning(Act.DISCREPANCY, item="radome", defect="dent")


def hearing(verdict, *meanings, probability=0.99):
    return Heard(verdict, tuple(Candidate(one, "x") for one in meanings), probability, "sound")


@pytest.mark.parametrize(
    ("given", "heard", "found"),
    [
        (Call(GOOD, "x"), hearing(Verdict.UNDERSTOOD, GOOD), Finding.AGREES),
        (Call(GOOD, "x"), hearing(Verdict.UNDERSTOOD, BAD), Finding.OTHER),
        (Call(GOOD, "x"), hearing(Verdict.ASK, GOOD, BAD), Finding.ASKED),
        (Call(GOOD, "x"), hearing(Verdict.ASK, BAD, GOOD), Finding.ASKED),
        (Call(GOOD, "x"), hearing(Verdict.ASK, BAD), Finding.OTHER),
        (Call(GOOD, "x"), hearing(Verdict.UNCLEAR), Finding.UNCLEAR),
        (Call(GOOD, "x"), hearing(Verdict.OUTSIDE), Finding.OUTSIDE),
        (
            Call(GOOD, "x", {"probability": "0.95"}),
            hearing(Verdict.UNDERSTOOD, GOOD, probability=0.84),
            Finding.LESS_SURE,
        ),
        (
            Call(GOOD, "x", {"probability": "0.95"}),
            hearing(Verdict.UNDERSTOOD, GOOD, probability=0.86),
            Finding.AGREES,
        ),
        (Unclear(((GOOD, "x"),)), hearing(Verdict.UNDERSTOOD, GOOD), Finding.SURER),
        (Unclear(((GOOD, "x"),)), hearing(Verdict.UNDERSTOOD, BAD), Finding.OTHER),
        (Unclear(()), hearing(Verdict.UNDERSTOOD, BAD), Finding.SURER),
        (Unclear(((GOOD, "x"),)), hearing(Verdict.ASK, BAD), Finding.AGREES),
        (Unclear(()), hearing(Verdict.OUTSIDE), Finding.AGREES),
    ],
)
def test_what_is_heard_against_what_was_made_of_it(given, heard, found):
    assert finding(given, heard) is found


def test_each_call_is_heard_as_the_walk_listened_then(tmp_path, maker, opened):
    calls = (*NAMED, Said("radome satisfactory"))
    record = maker.record(tmp_path / "a.walk", calls)
    opened.hears(*calls)
    relisten(record)
    asked = [expectation for _, expectation in opened.ears.asked]
    assert asked == [listen.expectation for listen in maker.expected]
    assert asked[3].item == "nose-tyre"


def test_where_the_walk_is_played_no_more_the_item_is_guessed(tmp_path, maker, opened, monkeypatch):
    def other_version(walk, entries):
        raise ReplayMismatch(1, "made by another version")

    record = maker.record(tmp_path / "a.walk", NAMED)
    opened.hears(*NAMED)
    monkeypatch.setattr(module, "listened", other_version)
    done = relisten(record)
    assert [expectation.item for _, expectation in opened.ears.asked] == [
        "radome",
        "left-pitot-cover",
        "nose-tyre",
    ]
    assert len(done.lines) == 3


def test_it_stops_between_two_calls_and_goes_on_later(tmp_path, maker, opened):
    record = maker.record(tmp_path / "a.walk", NAMED)
    opened.hears(*NAMED)
    told = []
    done = relisten(record, told.append, stopped=lambda: len(told) == 2)
    assert (done.stopped, done.heard, len(done.lines)) == (True, 2, 2)
    done = relisten(record)
    assert (done.stopped, done.heard, len(done.lines)) == (False, 1, 3)
    assert [number for number, _ in opened.ears.asked] == [0, 1, 2]


def test_what_was_heard_by_the_same_models_is_not_heard_again(tmp_path, maker, opened):
    record = maker.record(tmp_path / "a.walk", NAMED)
    opened.hears(*NAMED)
    first = relisten(record)
    module._ears.clear()
    again = relisten(record)
    assert (again.heard, again.lines) == (0, first.lines)
    assert len(opened) == 1


def test_with_other_models_all_is_heard_anew(tmp_path, maker, opened, monkeypatch):
    record = maker.record(tmp_path / "a.walk", NAMED)
    opened.hears(*NAMED)
    relisten(record)
    monkeypatch.setattr(module, "WIDTH", 4)
    assert relisten(record).heard == 3
    assert len(path_beside(record).read_text().splitlines()) == 4


def test_a_line_that_was_cut_off_is_heard_again(tmp_path, maker, opened):
    record = maker.record(tmp_path / "a.walk", NAMED)
    opened.hears(*NAMED)
    relisten(record)
    file = path_beside(record)
    file.write_bytes(file.read_bytes()[:-20])
    done = relisten(record)
    assert (done.heard, len(done.lines)) == (1, 3)
    assert all(json.loads(line) for line in file.read_text().splitlines())


def test_remarks_and_typed_calls_are_left_alone(tmp_path, maker, opened):
    calls = (Said("remark"), Said("oil on the floor", remark=True))
    record = maker.record(tmp_path / "a.walk", calls)
    opened.hears(calls[0])
    assert [line.was for line in relisten(record).lines] == ["remark"]


def test_a_call_that_was_cut_stays_not_understood(tmp_path, maker, opened):
    record = maker.record(tmp_path / "a.walk", (Said("", verdict=Verdict.UNCLEAR, notes=("cut",)),))
    opened.hears(Said("radome satisfactory"))
    assert findings(relisten(record)) == {2: Finding.AGREES}


def test_a_sound_that_is_gone_is_counted(tmp_path, maker, opened, monkeypatch):
    record = maker.record(tmp_path / "a.walk", NAMED)
    opened.hears(*NAMED)
    whole = RecordReader.clip

    def clip(reader, name):
        flac = whole(reader, name)
        if len(opened.ears.asked if opened else []) == 1:
            opened.ears.asked.append((9, None))
            raise RecordError("it is gone", "Nothing can be done.")
        return flac

    monkeypatch.setattr(RecordReader, "clip", clip)
    done = relisten(record)
    assert (done.heard, done.without_sound) == (2, 1)


def test_the_words_are_those_that_the_record_keeps(tmp_path, opened, monkeypatch):
    """A shop's own vocabulary that is not on this machine any more."""
    shop = tmp_path / "shop"
    shop.mkdir()
    text = card_path("jet-trainer").read_text("utf-8")
    own_text = re.sub(r"(?m)^vocabularies:.*$", "vocabularies: [english, spelling, shop]", text)
    (shop / "own.yaml").write_text(own_text, "utf-8")
    (shop / "shop.yaml").write_text("language: en\nplaces: [top / upper side of it]\n", "utf-8")
    own = Maker(load_card(shop / "own.yaml"))
    call = Said("radome dented upper side of it")
    record = own.record(tmp_path / "a.walk", (call,))
    shutil.rmtree(shop)
    opened.hears(call)
    words = []

    def ears(card, vocabulary, width):
        words.extend(place.name for place in vocabulary.places)
        return Ears(own, opened.heard)

    monkeypatch.setattr(module, "open_ears", ears)
    assert findings(relisten(record)) == {2: Finding.AGREES}
    assert "top" in words


def test_a_process_that_was_ended_is_told(tmp_path, monkeypatch):
    """An operating system short of memory ends one of the processes."""
    for name in ("a.walk", "b.walk"):
        typed(tmp_path / name, "radome satisfactory")
    monkeypatch.setattr(relistening, "_work", ended)
    done = relisten_all(records_of(tmp_path), 2, lambda record, line: None)
    assert ["the process that heard it has ended" in one.trouble for one in done] == [True] * 2


@pytest.mark.parametrize("harm", [b"", b"no record at all", None])
def test_what_cannot_be_heard_again_says_why(tmp_path, harm):
    path = tmp_path / "a.walk"
    if harm is not None:
        path.write_bytes(harm)
    done = relisten(path)
    assert done.trouble
    assert done.lines == ()


def typed(path, *lines):
    begin_walk("jet-trainer", "M07", "somebody", path, Calls(Lines(*lines)), (), now)


def now():
    from voicewalk.clock import Instant

    return Instant("2031-04-02T06:00:00.000Z", 1_000)


def test_the_records_of_a_folder(tmp_path):
    (tmp_path / "later").mkdir()
    for name in ("b.walk", "a.walk", "later/c.walk", "notes.txt"):
        (tmp_path / name).touch()
    names = [one.relative_to(tmp_path).as_posix() for one in records_of(tmp_path)]
    assert names == ["a.walk", "b.walk", "later/c.walk"]
    assert records_of(tmp_path / "a.walk") == [tmp_path / "a.walk"]


def test_a_folder_without_records_is_told(tmp_path):
    with pytest.raises(RecordError, match="there is no record in it"):
        records_of(tmp_path)


def test_a_folder_in_processes_of_its_own(tmp_path):
    """Without sounds no model is loaded: what is tried is the way there and back."""
    for name in ("a.walk", "b.walk"):
        typed(tmp_path / name, "radome satisfactory")
    (tmp_path / "c.walk").write_bytes(b"no record at all")
    done = relisten_all(records_of(tmp_path), 2, lambda record, line: None)
    assert [one.record.name for one in done] == ["a.walk", "b.walk", "c.walk"]
    assert [bool(one.trouble) for one in done] == [False, False, True]


def test_ctrl_c_keeps_what_was_heard(tmp_path, maker, opened):
    records = [maker.record(tmp_path / name, NAMED) for name in ("a.walk", "b.walk")]
    opened.hears(*NAMED)

    def told(record, line):
        if line.seq == 3:
            raise KeyboardInterrupt

    done = relisten_all(records, 1, told)
    assert [(one.stopped, len(one.lines)) for one in done] == [(True, 2), (True, 0)]
    done = relisten_all(records, 1, lambda record, line: None)
    assert [(one.stopped, one.heard) for one in done] == [(False, 1), (False, 3)]
