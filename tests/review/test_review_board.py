"""The first page's rows: one for each aircraft, the one that must not fly first."""

from review_walks import CLOSE, GOOD, LEAD, Clock, but, typed

from voicewalk.record import review
from voicewalk.record.file import RecordFile
from voicewalk.review.board import board, latest
from voicewalk.review.glance import look
from voicewalk.review.needs import Grade


def rows(*paths):
    return board(look(path) for path in paths)


def test_the_worst_stands_first_and_each_aircraft_once(walks):
    found = rows(*sorted(walks.glob("*.walk")))
    assert [(row.last.identity, row.grade) for row in found] == [
        ("M07", Grade.CRITICAL),
        ("M11", Grade.INCOMPLETE),
        ("M02", Grade.NOTHING),
    ]
    assert [need.what for need in found[0].worst] == ["out of limit"]


def test_of_twelve_aircraft_the_one_with_a_finding_is_on_top(tmp_path, walks):
    paths = [
        typed(tmp_path / f"{n}.walk", (*GOOD, CLOSE), f"K{n:02}", f"{6 + n // 6:02}:{n % 6}0")
        for n in range(11)
    ]
    assert rows(*paths, walks / "found.walk")[0].last.identity == "M07"


def test_the_last_walk_tells_how_it_stands(tmp_path):
    bad = but(left_fuel_cap="left fuel cap not secure")
    first = typed(tmp_path / "a.walk", (*bad, CLOSE), at="06:00")
    second = typed(tmp_path / "b.walk", (*GOOD, CLOSE), at="08:00")
    (row,) = rows(second, first)
    assert (row.last.name, row.grade, row.earlier, row.carried) == ("b", Grade.NOTHING, 1, ())


def test_what_no_later_walk_has_looked_at_is_carried_on(tmp_path):
    bad = but(left_fuel_cap="left fuel cap not secure", wheel_chocks="wheel chocks not in place")
    first = typed(tmp_path / "a.walk", (*bad, CLOSE), at="06:00")
    second = typed(tmp_path / "b.walk", GOOD[:3], at="08:00")  # the chocks, not the cap
    (row,) = rows(first, second)
    assert [(one.need.about, one.walk.name) for one in row.carried] == [("left fuel cap", "a")]
    assert (row.grade, row.worst[0].what) == (Grade.CRITICAL, "discrepancy, earlier walk")


def test_what_was_sent_back_is_carried_on_until_it_is_inspected(tmp_path):
    first = typed(tmp_path / "a.walk", (*GOOD, CLOSE), at="06:00")
    with RecordFile.open(first) as record:
        review.send_back(record, LEAD, ["upper-antenna"], "no stand", Clock("07:00")())
    second = typed(tmp_path / "b.walk", GOOD[:3], at="08:00")
    third = typed(tmp_path / "c.walk", (*GOOD, CLOSE), at="09:00")
    (row,) = rows(first, second)
    assert [one.need.what for one in row.carried] == ["sent back, earlier walk"]
    (row,) = rows(first, second, third)
    assert row.carried == ()


def test_files_that_cannot_be_read_are_rows_of_their_own(tmp_path, walks):
    for name in ("x", "y"):
        (tmp_path / f"{name}.walk").write_bytes(b"nothing")
    found = rows(tmp_path / "x.walk", tmp_path / "y.walk", walks / "good.walk")
    assert [row.last.identity for row in found] == ["x", "y", "M02"] or [
        row.last.identity for row in found
    ] == ["y", "x", "M02"]


def test_the_latest_walk_is_listed_first(walks):
    names = [glance.name for glance in latest(look(path) for path in walks.glob("*.walk"))]
    assert names == ["left", "found", "good"]
