"""What needs the lead: each sort of exception is told, in its grade, and nothing else is."""

import pytest
from review_walks import CLOSE, GOOD, LEAD, Clock, append, but, typed

from voicewalk.record import review
from voicewalk.record.file import RecordFile
from voicewalk.review.glance import State, look, read
from voicewalk.review.needs import Grade, is_unsure


def found(path):
    """Grade, kind and item name of each need, in order."""
    return [(need.grade, need.what, need.about) for need in look(path).needs]


def test_a_walk_without_exceptions_needs_nothing(walks):
    glance = look(walks / "good.walk")
    assert (glance.needs, glance.grade, glance.state) == ((), Grade.NOTHING, State.CLOSED)


def test_findings_come_by_grade(walks):
    assert found(walks / "found.walk") == [
        (Grade.CRITICAL, "out of limit", "left main tyre pressure"),
        (Grade.DISCREPANCY, "discrepancy", "right main tyre"),
        (Grade.INCOMPLETE, "not inspected", "upper antenna"),
    ]


def test_what_is_said_is_short_and_has_the_limit(walks):
    critical, cut, antenna = look(walks / "found.walk").needs
    assert critical.said == "below limit; 190 psi (limit 205 to 215 psi)"
    assert cut.said == "cut, outboard, 0.5 inch"
    assert antenna.said == "no stand"


@pytest.mark.parametrize(
    ("call", "need"),
    [
        (
            {"left_fuel_cap": "left fuel cap not secure"},
            (Grade.CRITICAL, "discrepancy", "left fuel cap"),
        ),
        (
            {"left_fuel_cap": "left fuel cap not inspected because no stand"},
            (Grade.CRITICAL, "not inspected", "left fuel cap"),
        ),
        (
            {"hydraulic_reservoir": "hydraulic reservoir five zero percent"},
            (Grade.DISCREPANCY, "out of limit", "hydraulic reservoir"),
        ),
        (
            {"wheel_chocks": "wheel chocks not in place"},
            (Grade.DISCREPANCY, "discrepancy", "wheel chocks"),
        ),
    ],
    ids=str,
)
def test_each_finding_has_its_grade(tmp_path, call, need):
    assert found(typed(tmp_path / "a.walk", (*but(**call), CLOSE))) == [need]


def test_a_walk_that_was_left_tells_what_was_never_called(walks):
    (need,) = look(walks / "left.walk").needs
    assert (need.grade, need.what) == (Grade.INCOMPLETE, "not closed")
    assert need.said == (
        "9 items were never called, 4 of them critical: nose tyre pressure, left main tyre,"
        " right main tyre, left main tyre pressure and 5 more"
    )


def test_a_walk_under_way_is_not_asked_for_what_lies_ahead(tmp_path):
    path = tmp_path / "a.walk"
    seen = {}

    def look_on(count):
        seen[count] = look(path)

    typed(path, GOOD[:2], before=look_on)
    assert (seen[2].state, seen[2].needs) == (State.UNDER_WAY, ())
    assert seen[2].counts["open"] == 10
    assert look(path).state is State.NOT_CLOSED


def test_an_item_withdrawn_is_open(tmp_path):
    path = typed(tmp_path / "a.walk", (*GOOD[:2], "disregard"))
    assert (Grade.INCOMPLETE, "open", "wheel chocks") in [
        (grade, what.partition(" ")[0], name) for grade, what, name in found(path)
    ]


def test_an_item_called_good_after_a_discrepancy_was_corrected_needs_nothing(tmp_path):
    calls = ("wheel chocks not in place", "correction wheel chocks in place")
    path = typed(tmp_path / "a.walk", (*GOOD[:1], *calls, *GOOD[2:], CLOSE))
    assert found(path) == []


@pytest.mark.parametrize(("between", "late"), [(0, []), (70, ["late correction"])])
def test_a_correction_that_comes_late_is_told(tmp_path, between, late):
    clock = Clock()

    def wait(count):
        clock.ms += 1000 * between if count == 1 else 0

    calls = ("wheel chocks in place", "correction wheel chocks in place")
    path = typed(tmp_path / "a.walk", (calls[0], calls[1], CLOSE), before=wait, clock=clock)
    assert [need.what for need in look(path).needs if need.grade is Grade.IN_DOUBT] == late


@pytest.mark.parametrize(
    ("body", "what"),
    [
        (
            {"kind": "clock stepped", "by_ms": 90_000, "input": {"type": "clock-stepped"}},
            "clock stepped",
        ),
        (
            {"kind": "interrupted", "gap_ms": 90_000, "input": {"type": "interrupted"}},
            "interrupted",
        ),
        ({"kind": "device lost", "reason": "unplugged", "input": {}}, "no microphone"),
        ({"kind": "sound lost", "lost_ms": 8000, "before": 1, "input": {}}, "sound lost"),
        ({"kind": "remark", "item": "", "transcript": "look at it", "input": {}}, "remark"),
        ({"kind": "asked back", "candidates": [], "input": {}}, "asked back"),
        (
            {"kind": "question dropped", "question": "unit", "entry": 2, "input": {}},
            "never answered",
        ),
        ({"kind": "stood by", "seconds": 300, "input": {}}, "stood by"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_doubtful_is_told_until_the_lead_has_heard_it(folder, body, what):
    path = folder / "good.walk"
    append(path, body)
    (need,) = look(path).needs
    assert (need.grade, need.what, need.settled) == (Grade.IN_DOUBT, what, False)
    with RecordFile.open(path) as record:
        answer = review.agree(record, LEAD, [need.seq], Clock("09:00")())
    glance = look(path)
    assert [(one.heard, one.settled) for one in glance.needs] == [(answer, True)]
    assert glance.grade is Grade.NOTHING


def test_a_discrepancy_stays_one_when_it_was_heard(folder):
    path = folder / "found.walk"
    seqs = [need.seq for need in look(path).needs]
    with RecordFile.open(path) as record:
        review.agree(record, LEAD, seqs, Clock("09:00")())
    glance = look(path)
    assert all(need.heard for need in glance.needs)
    assert glance.grade is Grade.CRITICAL


def test_an_item_sent_back_needs_the_lead_until_it_has_an_entry(folder):
    path = folder / "good.walk"
    with RecordFile.open(path) as record:
        review.send_back(record, LEAD, ["wheel-chocks"], "not seen", Clock("09:00")())
    (need,) = look(path).needs
    assert (need.grade, need.what, need.about, need.said) == (
        *(Grade.INCOMPLETE, "sent back"),
        *("wheel chocks", "not seen"),
    )


def test_not_released_is_critical_and_released_is_no_need(folder):
    path = folder / "good.walk"
    words = read(path).card.release
    for released, grade in ((False, Grade.CRITICAL), (True, Grade.NOTHING)):
        with RecordFile.open(path) as record:
            review.decide(record, LEAD, words, Clock("09:00")(), released=released)
        assert look(path).grade is grade
    assert look(path).decided == words.released


def test_a_record_that_is_not_whole_is_critical(folder):
    path = folder / "good.walk"
    data = path.read_bytes()
    path.write_bytes(data.replace(b'"result":"satisfactory"', b'"result":"satisfactorx"', 1))
    first = look(path).needs[0]
    assert (first.grade, first.what) == (Grade.CRITICAL, "record not whole")
    assert "rely on" in first.said


@pytest.mark.parametrize("data", [b"", b"no record", b"SQLite format 3\0" + bytes(200)])
def test_a_file_that_is_no_record_is_critical_and_no_error(tmp_path, data):
    path = tmp_path / "broken.walk"
    path.write_bytes(data)
    glance = look(path)
    assert (glance.state, glance.grade, glance.identity) == (
        *(State.UNREADABLE, Grade.CRITICAL),
        "broken",
    )


CHOCKS = {
    "kind": "item",
    "item": "wheel-chocks",
    "name": "wheel chocks",
    "station": "nose",
    "result": "satisfactory",
    "state": "in place",
    "second": True,
    "replaces": 3,
}


def confirmation(finding):
    fields = {"entry": 15, "item": "wheel-chocks", "entered": "in place", "said": "in place"}
    return {"kind": "confirmation", "finding": finding, **fields}


@pytest.mark.parametrize(
    ("answers", "told"),
    [
        ([], ["not confirmed"]),
        (["confirmed"], []),
        (["silence", "no answer", "not understood"], ["not confirmed"]),
        (["silence", "confirmed"], []),
        (["differs"], ["not confirmed", "second person: differs"]),
        (["negative", "confirmed"], ["second person: negative"]),
    ],
    ids=str,
)
def test_what_the_second_person_has_not_confirmed_is_told(folder, answers, told):
    path = folder / "good.walk"
    append(path, CHOCKS, *map(confirmation, answers))
    assert [need.what for need in look(path).needs if need.what != "late correction"] == told


def test_another_identity_said_is_told(folder):
    path = folder / "good.walk"
    append(path, {"kind": "identity", "said": "M08", "matches": False})
    assert [need.what for need in look(path).needs] == ["another identity"]


@pytest.mark.parametrize(
    ("accepted", "probability", "unsure"),
    [
        ("understood", "0.989", True),
        ("understood", "0.990", False),
        ("confirmed", "0.900", False),
        ("typed", "", False),
        ("understood", "", False),
        ("understood", "much", False),
    ],
)
def test_only_what_was_taken_at_once_is_unsure(accepted, probability, unsure):
    body = {"accepted": accepted, "input": {"heard": {"probability": probability}}}
    assert is_unsure(body) is unsure
