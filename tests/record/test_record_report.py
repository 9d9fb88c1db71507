import csv
from io import StringIO

import pytest
from record_samples import CAUTION, at, heard, item, reading, started
from rich.console import Console
from test_record_summary import card_of

from voicewalk.record import wording
from voicewalk.record.chain import Entry, Meta
from voicewalk.record.report import text_report
from voicewalk.record.screen import show_on
from voicewalk.record.summary import summary
from voicewalk.record.table import csv_table
from voicewalk.record.verify import Examined, Report

META = Meta("post 1", "voicewalk 0", at(0).wall, "00" * 32)


def examined(*bodies, ok=True, findings=()):
    entries = tuple(Entry(seq, 1, at(seq * 1000), body) for seq, body in enumerate(bodies, 1))
    trusted = len(entries) if ok else 1
    return Examined(Report(ok, findings, len(entries), trusted, "ab" * 32), META, entries)


def section(report, title):
    """The lines below a heading."""
    lines = report.split(f"\n{title}\n{'-' * len(title)}\n")[1].split("\n\n")[0]
    return lines.splitlines()


WALK = (
    started(items=5),
    item("left main tyre", "discrepancy", discrepancy={"defect": "cut", "place": "outboard"}),
    reading("160", False, discrepancy={"defect": "below limit"}),
    reading("178", True, replaces=3),
    {"kind": "asked back", "input": {"heard": heard()}, "candidates": [{"words": "left tyre cut"}]},
    {"kind": "remark", "input": {"heard": heard()}, "item": "", "transcript": "oil below"},
    item("pitot cover", count={"seen": "2", "expected": "3"}),
)


def test_head_of_the_report():
    report = text_report(examined(*WALK))
    for line in (
        "Aircraft    VW 012",
        "Inspector   Tamsin Orlo",
        "Card        Sample preflight, version 3",
        "Begun       2031-04-02 06:00:01 UTC",
        "Not closed  last entry 2031-04-02 06:00:07 UTC",
        "Recorder    post 1, voicewalk 0",
        f"Head        {'ab' * 32}",
    ):
        assert line in report.splitlines()


def test_discrepancies_come_before_everything_else():
    report = text_report(examined(*WALK))
    assert section(report, "DISCREPANCIES") == [
        "  #2   06:00:02  left main tyre: discrepancy: cut, outboard (typed)"
    ]
    titles = ["SUMMARY", "DISCREPANCIES", "READINGS", "OPEN ITEMS", "ASKED BACK", "REMARKS"]
    places = [report.index(title) for title in (*titles, "ALL ENTRIES BY STATION")]
    assert places == sorted(places)


def test_readings_stand_with_their_limits():
    report = text_report(examined(*WALK))
    assert " ".join(" ".join(section(report, "READINGS")).split()) == (
        "#4 left tyre pressure: 178 psi (limit 174 to 184 psi, sample card, tyres): within limit"
    )


def test_a_replaced_entry_is_struck_and_stays_readable():
    lines = section(text_report(examined(*WALK)), "ALL ENTRIES BY STATION")
    struck = " ".join(" ".join(lines).split())
    assert "x #3 06:00:03 left tyre pressure: discrepancy: below limit; 160 psi" in struck
    assert "[replaced by #4]" in struck


def test_open_items_are_counted_and_with_the_card_named():
    assert section(text_report(examined(*WALK)), "OPEN ITEMS") == [
        "  2 items; the record keeps no card with their names"
    ]
    card = card_of("left-main-tyre", "fuel-cap", "left-tyre-pressure", "pitot-cover", "canopy")
    assert section(text_report(examined(*WALK), card), "OPEN ITEMS") == ["  fuel-cap", "  canopy"]


def test_with_the_card_items_come_in_walking_order():
    body = [item(name, station="gear") for name in ("c", "a", "b")]
    lines = section(text_report(examined(*body), card_of("a", "b", "c")), "ALL ENTRIES BY STATION")
    assert [line.split()[2] for line in lines[1:]] == ["a:", "b:", "c:"]


def test_asked_back_and_remarks():
    report = text_report(examined(*WALK))
    assert section(report, "ASKED BACK") == ['  #5   06:00:05  "left tyre cut"']
    assert section(report, "REMARKS") == ["  #6   06:00:06  oil below (typed)"]


def test_counts():
    lines = [line.split() for line in section(text_report(examined(*WALK)), "SUMMARY")]
    assert [line[-1] for line in lines] == ["2", "1", "0", "0", "2", "1"]


def test_the_caution_is_the_records_own_where_it_is_closed():
    closed = {"kind": "closed", "input": {}, "caution": CAUTION}
    assert CAUTION in text_report(examined(started(), closed))
    assert "Closed      last entry" in text_report(examined(started(), closed))


@pytest.mark.parametrize("subject", ["aircraft", "vehicle"])
def test_no_report_is_without_a_caution(subject):
    report = text_report(examined({**started(), "subject": subject}))
    assert f"This record does not declare the {subject} airworthy" in report.replace("\n", " ")


def test_a_record_that_is_not_whole_says_so_before_its_results():
    findings = ("entry 2: its hash does not fit",)
    report = text_report(examined(*WALK, ok=False, findings=findings))
    assert "Record      NOT WHOLE: rely on no entry after #1" in report
    assert report.index("its hash does not fit") < report.index("SUMMARY")


def test_an_empty_record_makes_a_report():
    report = text_report(examined())
    assert section(report, "DISCREPANCIES") == ["none"]
    assert "Begun       never" in report


def test_signs_that_steer_a_terminal_or_printer_are_not_passed_on():
    evil = "\x1b[2J\x07left\r\nright\u202e\x00"
    report = text_report(examined({**started(), "identity": evil}, item(name=evil)))
    assert all(sign.isprintable() or sign == "\n" for sign in report)
    assert "left right" in report


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (item(state="not latched", result="discrepancy"), "discrepancy: not latched"),
        (item(result="not inspected", reason="panel shut"), "not inspected: panel shut"),
        (item(count={"seen": "2", "expected": "3"}), "satisfactory: 2 of 3"),
        (item(count={"seen": "2"}), "satisfactory: 2"),
        (item(reading={"value": "5", "unit": "psi"}), "satisfactory: 5 psi (no limit)"),
        (
            item(reading={"value": "5", "unit": "psi", "limit": {"low": "4", "unit": "psi"}}),
            "satisfactory: 5 psi (limit at least 4 psi)",
        ),
        (
            item(reading={"value": "5", "unit": "psi", "limit": {"high": "6", "unit": "psi"}}),
            "satisfactory: 5 psi (limit at most 6 psi)",
        ),
        (
            item(discrepancy={"defect": "cut", "size": "0.5", "size_unit": "inch"}),
            "satisfactory: cut, 0.5 inch",
        ),
        (item(result="open", state="installed", owner="ramp"), "open: installed; with ramp"),
        (item(count={"seen": "3", "expected": "5"}, by="ramp"), "satisfactory: 3 of 5; by ramp"),
        (
            item(result="open", reading={"value": "5", "unit": "psi", "why": "no chart value"}),
            "open: 5 psi (no limit); no chart value",
        ),
        (item(), "satisfactory"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_results_in_words(body, words):
    assert wording.result(body) == words


@pytest.mark.parametrize(
    ("how", "words"),
    [("understood", ""), ("confirmed", " (confirmed)"), ("typed", " (typed)"), ("", "")],
)
def test_how_a_call_was_accepted_is_told_where_it_was_not_understood_at_once(how, words):
    assert wording.accepted(item(accepted=how) if how else {}) == words


@pytest.mark.parametrize(
    ("within", "words"), [(True, "within limit"), (False, "OUT OF LIMIT"), (None, "not judged")]
)
def test_readings_are_judged_in_words(within, words):
    assert wording.judgement({"reading": {"within": within}}) == words


# --- on the screen -------------------------------------------------------------------------


def shown(what, **console):
    file = StringIO()
    show_on(Console(file=file, highlight=False, **console), what)
    return file.getvalue()


def test_in_a_pipe_each_entry_is_one_plain_line():
    text = shown(examined(*WALK))
    assert "\x1b" not in text
    lines = text.splitlines()
    assert lines[0] == "#1  06:00:01  started  VW 012, Sample preflight"
    assert lines[2].startswith("#3  06:00:03  left tyre pressure  discrepancy: below limit; 160")
    assert lines[2].endswith("(typed)  replaced by #4")
    assert [line.split()[0] for line in lines[:7]] == [f"#{seq}" for seq in range(1, 8)]


def test_on_a_terminal_it_is_a_table():
    text = shown(examined(*WALK), force_terminal=True, width=120, color_system="standard")
    assert "\x1b[" in text
    assert "since then" in text


def test_without_colour_nothing_is_lost(monkeypatch):
    text = shown(examined(*WALK), force_terminal=True, width=120, no_color=True)
    assert "\x1b[3" not in text  # no colour code (ECMA-48 SGR 30 to 37)
    assert "replaced by #4" in text
    assert "discrepancy" in text


def test_texts_of_a_record_are_no_markup():
    text = shown(examined(item(name="[red]x[/red] [link=http://example.invalid]y[/link]")))
    assert "[red]x[/red] [link=http://example.invalid]y[/link]" in text


def test_the_end_tells_results_state_head_and_caution():
    text = shown(examined(*WALK))
    for words in ("discrepancies", "record: whole", f"head: {'ab' * 32}", "does not declare"):
        assert words in text


def test_a_record_that_is_not_whole_says_so_on_the_screen():
    assert "NOT WHOLE" in shown(examined(*WALK, ok=False, findings=("entry 2: x",)))


def test_a_remark_in_sound_rests_on_its_sound():
    remark = {"kind": "remark", "input": {"heard": heard("ab" * 32)}, "transcript": "oil below"}
    lines = section(text_report(examined(*WALK, remark)), "REMARKS")
    assert lines[-1].endswith("oil below (the sound is the remark)")


def from_paper(body, typist="Ilka Vey"):
    card = {"written": "2031-04-02 06:10", "typist": typist}
    given = {**body["input"], "heard": {**heard(), "paper": card}}
    return {**body, "input": given}


def test_what_was_typed_from_a_paper_card_is_told_so_everywhere():
    body = from_paper(item(accepted="typed"))
    second = from_paper(item("radome", accepted="typed"), typist="Bo Arn")
    remark = from_paper({"kind": "remark", "input": {}, "transcript": "oil below"})
    walk = examined(started(), body, second, body, remark)
    report = text_report(walk)
    assert "Paper       written 2031-04-02 06:10, typed in by Ilka Vey" in report.splitlines()
    assert "Paper       written 2031-04-02 06:10, typed in by Bo Arn" in report.splitlines()
    assert report.count("typed in by Ilka Vey") == 1
    assert "left main tyre: satisfactory (typed, from paper)" in report
    assert "oil below (typed, from paper)" in report
    shown = StringIO()
    show_on(Console(file=shown, width=120), walk)
    assert "satisfactory (typed, from paper)" in shown.getvalue()
    row = next(iter(csv.DictReader(StringIO(csv_table(summary(walk.entries)), newline=""))))
    assert (row["paper_written"], row["paper_typist"]) == ("2031-04-02 06:10", "Ilka Vey")


def confirmation(entry, finding, said, **more):
    body = {"kind": "confirmation", "input": {"heard": heard()}, "entry": entry, **more}
    about = {"item": "left-main-tyre-pressure", "finding": finding, "entered": "178 psi"}
    return {**body, **about, **({"said": said} if said else {})}


TWO = (
    {**started(items=5), "second": "Ned Brandt"},
    reading("178", True, second=True),
    confirmation(2, "differs", "118 psi", reopens=["left-main-tyre-pressure"]),
    reading("178", True, second=True, replaces=2),
    confirmation(4, "no answer", "roger"),
)


def test_what_the_second_person_answered_is_told_and_what_is_to_be_confirmed():
    report = text_report(examined(*TWO))
    assert "Second      Ned Brandt" in report
    due, *_ = section(report, "TO BE CONFIRMED BY THE SECOND PERSON")
    assert due.startswith("  #4")
    told = " ".join(" ".join(section(report, "ANSWERS OF THE SECOND PERSON")).split())
    assert '#2, 178 psi: differs, second person: "118 psi"' in told
    assert '#4, 178 psi: no answer, second person: "roger"' in told
    assert "to be confirmed      1" in report


def test_what_is_confirmed_is_not_to_be_confirmed():
    report = text_report(examined(*TWO, confirmation(4, "confirmed", "178 psi")))
    assert section(report, "TO BE CONFIRMED BY THE SECOND PERSON") == ["none"]
    assert "to be confirmed      0" in report


def test_without_a_second_person_nothing_is_said_of_one():
    report = text_report(examined(*WALK))
    assert "second" not in report.lower()
    assert "to be confirmed" not in report
