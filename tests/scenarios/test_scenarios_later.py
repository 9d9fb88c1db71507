"""Public reports of what a later walk, or whoever takes over, had to know: real records in a
folder, the next walk begun with it.

Each test names its report and how it was read, as in ``test_scenarios_counts``.
"""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from scenario_booth import Stand, aircraft

from voicewalk.card.model import Card
from voicewalk.card.rules import Validity
from voicewalk.clock import Instant
from voicewalk.record.file import RecordFile
from voicewalk.record.history import History, history
from voicewalk.record.report import text_report
from voicewalk.record.review import send_back
from voicewalk.record.verify import examine
from voicewalk.session.equipment import Calls
from voicewalk.session.events import Event, Said
from voicewalk.session.walking import begin_walk
from voicewalk.walk.earlier import Earlier, Read
from voicewalk.walk.notices import at_start

CARD = "light-turboprop"


class Typed:
    """Typed lines from a list."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = lines

    def read(self, seconds: float | None) -> str:
        if not self.lines:
            raise EOFError
        return self.lines.pop(0)


class Clock:
    """A second for each look at it, from a day on."""

    def __init__(self, day: int) -> None:
        self.day, self.passed = day, 0

    def __call__(self) -> Instant:
        self.passed += 1
        wall = f"2026-03-{self.day:02}T08:{self.passed // 60:02}:{self.passed % 60:02}.000Z"
        return Instant(wall, self.passed * 1000, f"boot {self.day}")


def walk(folder: Path, day: int, *lines: str, identity: str = "EX-1") -> list[str]:
    """One walk of a day, typed; returns what was said."""
    said: list[str] = []

    def hear(event: Event) -> None:
        if isinstance(event, Said):
            said.append(event.text)

    path = folder / f"{day}.walk"
    begin_walk(
        CARD, identity, "inspector A", path, Calls(Typed(list(lines))), (hear,), Clock(day), folder
    )
    return said


def closing(*first: str) -> list[str]:
    """A whole walk: the hold point, ``first``, and all else left out with a reason."""
    begun = ["propeller area confirmed clear", *first]
    stand = Stand().type(*begun)
    names = [stand.card.by_id[item].name for item in stand.walk.view().open]
    left_out = [f"{name} not inspected because by order" for name in names]
    return [*begun, *left_out, "walkaround complete"]


def acknowledging(folder: Path, day: int) -> list[str]:
    """An answer to each message about earlier walks."""
    return ["affirm"] * len(at_start(known(folder, day).earlier))


def known(folder: Path, day: int, card: Card | None = None, identity: str = "EX-1") -> History:
    now = Instant(f"2026-03-{day:02}T08:00:00.000Z", 0)
    return history(folder, identity, card or aircraft(CARD)[0], now)


def test_a_breaker_tripped_twice_is_seen_before(tmp_path: Path):
    """ASRS 581647 (seen): a breaker was reset without an entry; the next day was a first event."""
    walk(tmp_path, 2, "circuit breakers breaker tripped", "disregard")
    (first,) = known(tmp_path, 3).earlier.found
    assert (first.item, first.defect, first.fate) == (
        "circuit-breakers", "breaker tripped", "withdrawn",
    )  # fmt: skip
    said = walk(tmp_path, 3, "circuit breakers breaker tripped")
    assert said[-1].startswith("Seen before, on two march, zero eight")
    again = examine(tmp_path / "3.walk").entries[-1]
    assert again.body["seen_before"] == first.wall
    report = " ".join(text_report(examine(tmp_path / "3.walk")).split())
    assert "seen before on 2026-03-02 08:0" in report
    # Nothing of it is told of another aircraft.
    assert known(tmp_path, 3, identity="EX-2") == History(Earlier())


def test_a_lock_left_out_by_habit_is_told(tmp_path: Path):
    """NTSB AAR-15/03 (second-hand) and GAA19CA085 (seen): skipping it was a habit."""
    for day in range(1, 6):
        told = walk(tmp_path, day, *acknowledging(tmp_path, day), *closing())
        assert told[-1].startswith("Recorder,"), "the walk is closed"
    skipped = {one.item: one for one in known(tmp_path, 6).earlier.skipped}
    assert (skipped["control-lock"].times, skipped["control-lock"].walks) == ("5", "5")
    said = walk(tmp_path, 6, *acknowledging(tmp_path, 6))
    assert "control lock, not inspected in five of the last five walks." in said


def test_a_discrepancy_left_open_is_acknowledged_before_anything_else(tmp_path: Path):
    """Open items stay until they are cleared: common practice, no source."""
    walk(tmp_path, 2, "left hydraulic line dripping")
    said = walk(tmp_path, 3, "propeller blades satisfactory", "affirm", "mirror back")
    when = "two march, zero eight zero zero zulu"
    assert said[1] == f"From {when}, left hydraulic line, drip, discrepancy."
    kinds = [entry.body["kind"] for entry in examine(tmp_path / "3.walk").entries]
    assert kinds == ["started", "acknowledged", "item"]


def test_a_reading_that_fell_is_kept_beside_the_earlier_one(tmp_path: Path):
    """NTSB AAR-02/01 (second-hand): a later shift measured again, and the plan was reversed."""
    walk(tmp_path, 2, "left tyre pressure two zero five psi")
    said = walk(tmp_path, 3, "left tyre pressure one five five psi", "affirm")
    assert said[1].startswith(
        "Confirm, left tyre pressure, one five five p s i. It was two zero five p s i on two march"
    )
    entry = examine(tmp_path / "3.walk").entries[-1].body
    assert (entry["result"], entry["accepted"]) == ("discrepancy", "confirmed")
    read = known(tmp_path, 4).earlier.readings
    assert read == (Read("left-tyre-pressure", "155", "psi", read[0].wall),)
    # What was changed in a file is not used, and told.
    changed = tmp_path / "3.walk"
    changed.write_bytes(changed.read_bytes().replace(b"155", b"205"))
    after = known(tmp_path, 4)
    assert [one.value for one in after.earlier.readings] == ["205"]
    assert "it is not whole: not used" in after.troubles[0]


def test_what_was_closed_since_is_not_told_as_open(tmp_path: Path):
    walk(tmp_path, 2, "left hydraulic line dripping")
    walk(tmp_path, 3, "affirm", *closing("left hydraulic line no defects"))
    earlier = known(tmp_path, 4).earlier
    assert [(one.defect, one.fate) for one in earlier.found] == [("drip", "earlier")]
    assert earlier.seen_before("left-hydraulic-line", "drip")


# NAVEDTRA 14292 table 4-1 and CNATRA P-553 (both seen): a daily counts for 72 h, 24 h if flown;
# NAVEDTRA 14022 (seen): a turnaround counts for 24 h and a flight voids it.
@pytest.mark.parametrize(
    ("minutes", "flown", "counts"),
    [
        (71 * 60 + 59, False, True),
        (72 * 60, False, True),
        (72 * 60 + 1, False, False),
        (23 * 60 + 59, True, True),
        (24 * 60 + 1, True, False),
    ],
)
def test_a_daily_counts_for_72_hours_and_24_once_flown(minutes: int, flown: bool, counts: bool):
    daily = Validity(72, "NAVEDTRA 14292, table 4-1", 24)
    assert daily.holds(timedelta(minutes=minutes), flown=flown) is counts
    turnaround = Validity(24, "NAVEDTRA 14022")
    assert not turnaround.holds(timedelta(0), flown=True)


def test_what_a_lead_sent_back_is_told_until_it_is_called_again(tmp_path: Path):
    walk(tmp_path, 1, *closing("cargo door locked"))
    with RecordFile.open(tmp_path / "1.walk") as record:
        send_back(record, "lead", ["cargo-door"], "look at its seal", Clock(1)())
    said = walk(tmp_path, 2, *acknowledging(tmp_path, 2), "headset back")
    assert said[2].startswith("Sent back one march, zero eight")
    assert said[2].endswith("cargo door, look at its seal.")
    assert known(tmp_path, 3).earlier.sent_back
    walk(tmp_path, 3, *acknowledging(tmp_path, 3), "cargo door locked")
    assert not known(tmp_path, 4).earlier.sent_back
