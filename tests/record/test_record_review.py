"""The lead's answers: entries of the chain that change no other, also from another recorder."""

import other_verifier
import pytest
from record_samples import at, item, started, tone

from voicewalk.card.rules import Release
from voicewalk.errors import RecordError
from voicewalk.record import keys, review
from voicewalk.record.file import RecordFile, RecordReader
from voicewalk.record.report import text_report
from voicewalk.record.summary import summary
from voicewalk.record.verify import examine, verify

LEAD = "Iva Denholm"
WORDS = Release("released for maintenance action", "not released, held")
ANSWERS = {
    "heard and agreed": lambda record: review.agree(record, LEAD, [3, 2, 3], at(20)),
    "sent back": lambda record: review.send_back(
        record, LEAD, ["left-main-tyre"], "the cut is not told", at(20)
    ),
    "lead remark": lambda record: review.remark(record, LEAD, "ask  the\nnight shift", at(20)),
    "released": lambda record: review.decide(record, LEAD, WORDS, at(20), released=True),
    "not released": lambda record: review.decide(record, LEAD, WORDS, at(20), released=False),
}


def answered(path, kind):
    """The record with one more entry; gives its body."""
    with RecordFile.open(path) as record:
        assert ANSWERS[kind](record) == 6
        return record.entries()[-1].body


def bodies_of(path):
    with RecordReader.open(path) as record:
        return [entry.body for entry in record.entries()]


@pytest.mark.parametrize("kind", ANSWERS)
@pytest.mark.parametrize("own", [True, False], ids=["own recorder", "other recorder"])
def test_an_answer_is_a_signed_entry_after_all_others(closed, kind, own, tmp_path, monkeypatch):
    before = bodies_of(closed)
    if not own:
        monkeypatch.setenv(keys.FOLDER_VARIABLE, str(tmp_path / "other"))
    body = answered(closed, kind)
    assert (body["kind"], body["who"]) == (kind, LEAD)
    assert bodies_of(closed)[:-1] == before
    report = verify(closed)
    assert (report.ok, report.trusted_up_to) == (True, 6)
    assert any(note.startswith(f"entry 6: {kind}: ") for note in report.notes)
    assert any("added by another recorder" in note for note in report.notes) is not own
    assert other_verifier.finds(closed) == []


def test_the_sounds_heard_are_named_once(closed):
    body = answered(closed, "heard and agreed")
    assert body["entries"] == [2, 3]
    assert body["clips"] == [tone(2).sha256, tone(3).sha256]


def test_a_sound_that_two_entries_share_is_named_once(path):
    with RecordFile.create(path, program="voicewalk 0", recorder="post 1", at=at(0)) as record:
        record.append(started(), at(1))
        record.append(item(clip=tone(2).sha256), at(2), tone(2))
        record.append(item("right main tyre", clip=tone(2).sha256), at(3))
        review.agree(record, LEAD, [2, 3], at(4))
        assert record.entries()[-1].body["clips"] == [tone(2).sha256]


def test_what_is_sent_back_has_the_form_that_others_read(closed):
    assert answered(closed, "sent back") == {
        "kind": "sent back",
        "who": LEAD,
        "items": ["left-main-tyre"],
        "reason": "the cut is not told",
    }


def test_a_remark_is_one_paragraph_and_may_be_on_an_entry(closed):
    assert answered(closed, "lead remark")["text"] == "ask the night shift"
    with RecordFile.open(closed) as record:
        review.remark(record, LEAD, "so it is", at(30), entry=2)
        assert record.entries()[-1].body["entry"] == 2


def test_decisions_are_in_the_cards_words(closed):
    assert answered(closed, "released")["words"] == WORDS.released


@pytest.mark.parametrize(
    ("wrong", "act"),
    [
        ("no entry 99", lambda record: review.agree(record, LEAD, [2, 99], at(20))),
        ("no entry", lambda record: review.agree(record, LEAD, [], at(20))),
        ("no item", lambda record: review.send_back(record, LEAD, [], "why", at(20))),
        ("no item", lambda record: review.send_back(record, LEAD, [""], "why", at(20))),
        ("reason is missing", lambda record: review.send_back(record, LEAD, ["a"], " ", at(20))),
        ("remark is missing", lambda record: review.remark(record, LEAD, "\n", at(20))),
        ("too long", lambda record: review.remark(record, LEAD, "a" * 2001, at(20))),
        ("no entry 99", lambda record: review.remark(record, LEAD, "a", at(20), entry=99)),
        ("nobody", lambda record: review.remark(record, "  ", "a", at(20))),
        ("cannot be kept", lambda record: review.remark(record, LEAD, "\ud800", at(20))),
    ],
)
def test_what_says_nothing_is_refused_and_nothing_is_kept(closed, wrong, act):
    before = bodies_of(closed)
    with RecordFile.open(closed) as record, pytest.raises(RecordError, match=wrong):
        act(record)
    assert bodies_of(closed) == before


@pytest.mark.parametrize("released", [True, False])
def test_a_walk_that_is_not_closed_is_not_decided_on(kept, released):
    with RecordFile.open(kept) as record, pytest.raises(RecordError, match="not closed"):
        review.decide(record, LEAD, WORDS, at(20), released=released)


def test_a_decision_before_the_end_is_found_by_both_checks(kept):
    with RecordFile.open(kept) as record:
        record.append({"kind": "released", "who": LEAD, "words": "released"}, at(9))
    assert any("before the walk was closed" in finding for finding in verify(kept).findings)
    assert any("open walk" in finding for finding in other_verifier.finds(kept))


def test_answers_are_no_part_of_the_walk(closed):
    before = summary(examine(closed).entries)
    for kind in ("heard and agreed", "lead remark"):
        with RecordFile.open(closed) as record:
            ANSWERS[kind](record)
    assert summary(examine(closed).entries) == before


def test_answers_read_back(closed):
    with RecordFile.open(closed) as record:
        for act in ANSWERS.values():
            act(record)
        review.send_back(record, LEAD, ["left-main-tyre", "other"], "again", at(40))
        given = review.answers(record.entries())
    assert {seq: entry.seq for seq, entry in given.heard.items()} == {2: 6, 3: 6}
    assert {item: entry.seq for item, entry in given.sent_back.items()} == {
        "left-main-tyre": 11,
        "other": 11,
    }
    assert [entry.seq for entry in given.remarks] == [8]
    assert given.release is not None
    assert given.release.body["kind"] == "not released"
    assert given.signed == ()


def test_a_report_tells_them(closed):
    for kind in ("sent back", "not released"):
        with RecordFile.open(closed) as record:
            ANSWERS[kind](record)
    text = text_report(examine(closed))
    text = " ".join(text.split())
    assert "left-main-tyre, by Iva Denholm: the cut is not told" in text
    assert "not released, held (by Iva Denholm)" in text
