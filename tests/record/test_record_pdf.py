"""The summary's pages: read as text by pypdf, rendered by pypdfium2, identified as PDF/A."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pypdf
import pypdfium2
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st
from record_samples import CAUTION, at, examined, item, long_walk, reading, started

from voicewalk.card.load import card_path, kept_card, load_card
from voicewalk.card.rules import EntryFields, Validity
from voicewalk.clock import Instant
from voicewalk.record import wording
from voicewalk.record.chain import Entry
from voicewalk.record.export import Form, exported
from voicewalk.record.file import RecordFile
from voicewalk.record.pdf import summary_pdf
from voicewalk.record.sheet import summary_sheet
from voicewalk.record.signing import Role, sign
from voicewalk.record.spreadsheet import workbook
from voicewalk.record.summary import summary
from voicewalk.record.verify import Examined, Report, examine

TWO = replace(load_card(card_path("two-person-check")), valid=Validity(72, "sample rule"))
NAMES = st.sampled_from(
    [
        "card",
        "caution",
        "count",
        "discrepancy",
        "entry",
        "finding",
        "heard",
        "identity",
        "input",
        "item",
        "limit",
        "low",
        "name",
        "paper",
        "reading",
        "reason",
        "result",
        "said",
        "second",
        "seen",
        "station",
        "status",
        "subject",
        "transcript",
        "unit",
        "value",
        "within",
        "written",
    ]
)
JET = load_card(card_path("jet-trainer"))
PLAIN = replace(JET, entry_fields=None)


def said(pdf):
    """All text of the pages, blanks and line breaks as one blank."""
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def of_jet(name, result="satisfactory", **more):
    found = next(one for one in JET if one.name == name)
    return {**item(name, result, **more), "item": found.id, "station": found.station}


WALK = (
    started(items=len(JET)),
    of_jet("left main tyre", "discrepancy", discrepancy={"defect": "cut", "place": "outboard"}),
    {**reading("160", False, discrepancy={"defect": "below limit"}), "station": "left-main-gear"},
    of_jet("radome"),
    of_jet("radome", "discrepancy", discrepancy={"defect": "dent"}, replaces=4),
    of_jet("left intake duct", "not inspected", reason="no access"),
    {"kind": "remark", "item": "", "transcript": "oil below"},
)


def test_every_discrepancy_is_told_with_time_item_and_limit():
    walk = examined(*WALK)
    text = said(summary_pdf(walk, JET))
    found = summary(walk.entries).discrepancies
    assert len(found) == 3
    for line in found:
        name, what = wording.telling(line.entry)
        assert f"{line.entry.seq} {wording.clock(line.entry.at.wall)} {name} {what}" in text
    assert "160 psi (limit 174 to 184 psi, sample card, tyres)" in text


def test_many_discrepancies_are_all_told():
    bodies = [
        {**item(f"panel {n}", "discrepancy", discrepancy={"defect": f"dent {n}"}), "station": "x"}
        for n in range(150)
    ]
    text = said(summary_pdf(examined(started(items=150), *bodies), None))
    assert all(f"panel {n} discrepancy: dent {n} " in text for n in range(150))


def test_what_else_a_reader_needs():
    text = said(summary_pdf(examined(*WALK), JET))
    for part in (
        "The walk is not closed.",
        "Aircraft VW 012",
        "Tamsin Orlo (a name, no signature)",
        "does not declare the aircraft airworthy",
        "left intake duct no access",
        "cockpit: front seat pin, rear seat pin",
        "160 psi limit 174 to 184 psi, sample card, tyres OUT OF LIMIT",
        "oil below",
        "Not signed by anybody.",
        "4 06:00:04 radome satisfactory (typed) replaced by #5",
        f"Head of 7 entries: {'ab' * 32}",
        "These pages are a copy",
    ):
        assert part in text
    assert "airworthy" not in text.replace("does not declare the aircraft airworthy", "")


def test_a_record_that_is_not_whole_says_so_first():
    walk = examined(*WALK, ok=False, findings=("entry 3: changed",), trusted_up_to=2)
    text = said(summary_pdf(walk, JET))
    assert text.startswith("Walkaround record NOT WHOLE: rely on no entry after #2")
    assert "entry 3: changed" in text


def test_people_s_signatures_and_the_real_head(closed):
    with RecordFile.open(closed) as record:
        key = Ed25519PrivateKey.from_private_bytes(bytes(32))
        sign(record, Role.LEAD, "Jorun Sedd", key, at(20))
    walk = examine(closed)
    text = said(exported(closed, walk, Form.PDF))
    assert "entries 1 to 5 signed as lead by Jorun Sedd, key" in text
    assert f"Head of 6 entries: {walk.report.head}" in text
    assert "The walk is not closed." not in text


# 14 CFR 43.11(a) (read as quoted elsewhere) asks these of an entry about an inspection. They are
# a person's to fill in: the pages hold their names and nothing beside them.
def test_fields_that_the_card_asks_for_are_left_blank():
    text = said(summary_pdf(examined(*WALK), JET))
    blanks = text[text.index("To be filled in by hand") : text.index("Every entry by station")]
    for field in ("total time in service", "certificate number", "kind of certificate"):
        assert field in blanks
    assert " ".join(JET.entry_fields.fields) in blanks
    assert "To be filled in" not in said(summary_pdf(examined(*WALK), PLAIN))


def test_entry_fields_are_read_from_the_card_that_the_record_keeps():
    words = {name: text for name, text in JET.texts.items() if name}
    asked = kept_card(JET.texts[""], words).entry_fields
    assert asked == JET.entry_fields
    assert isinstance(asked, EntryFields)
    assert "14 CFR 43.11(a)" in asked.reference


HOSTILE = '#panic() *b* $x$ @a <b> </text><script>x</script> =1+1 \\ "q"'


def test_hostile_texts_come_out_as_themselves():
    body = {**item(HOSTILE, "discrepancy", discrepancy={"defect": HOSTILE}), "station": HOSTILE}
    begun = {**started(), "identity": HOSTILE, "inspector": HOSTILE}
    steered = {"kind": "remark", "item": "", "transcript": "a\x1b[2J\x07\u202eb\0c"}
    text = said(summary_pdf(examined(begun, body, steered), None))
    # A line may break behind a slash: only blanks differ.
    assert text.replace(" ", "").count(HOSTILE.replace(" ", "")) >= 6
    assert not {"\x1b", "\x07", "\u202e", "\0"} & set(text)


def test_a_word_longer_than_a_line_stays_on_the_page():
    body = item("x" * 300, "discrepancy", discrepancy={"defect": "y" * 900})
    pdf = summary_pdf(examined(started(), body), None)
    assert_margins_empty(pdf)
    assert "x" * 300 in said(pdf).replace(" ", "")


def test_the_pages_say_that_they_are_pdf_a_2b():
    """ISO 19005-2, 6.6.4: part and conformance in the metadata. No checker of the whole standard
    runs here: the typesetter refuses what it knows to be against it."""
    reader = pypdf.PdfReader(io.BytesIO(summary_pdf(examined(*WALK), JET)))
    about = reader.xmp_metadata.rdf_root.toxml()
    assert "<pdfaid:part>2</pdfaid:part>" in about
    assert "<pdfaid:conformance>B</pdfaid:conformance>" in about
    assert reader.trailer["/Root"]["/OutputIntents"]
    assert not reader.is_encrypted
    for page in reader.pages:  # 6.2.11.4: every font is in the file
        for font in page["/Resources"]["/Font"].values():
            for inner in font.get_object()["/DescendantFonts"]:
                described = inner.get_object()["/FontDescriptor"]
                assert {"/FontFile2", "/FontFile3"} & set(described)


MANY = 2001
"""Entries of a walk whose list is set line by line: shared.typ tells why."""


@pytest.mark.slow
def test_a_long_list_is_set_line_by_line_and_says_the_same():
    walk = long_walk(MANY + 1)
    long = {
        "name": "x" * 300,
        "replaces": 5,
        "discrepancy": {"defect": "cut " * 400 + "to the end"},
        "result": "discrepancy",
    }
    last = Entry(MANY + 2, 1, walk.entries[-1].at, {**item(), **long})
    pdf = summary_pdf(replace(walk, entries=(*walk.entries, last)), None)
    assert_margins_empty(pdf)
    text = said(pdf)
    listed = text[text.index("Every entry by station") :]
    assert [n for n in range(2, MANY + 2) if f" {n} 0" not in listed] == []
    assert "x" * 300 in listed.replace(" ", "")
    assert "cut to the end" in listed


@pytest.mark.slow
def test_the_pages_of_10_000_entries_take_less_than_400_mb():
    """In a process of its own: 120 MB of it are the record. With a table it took 846 MB."""
    code = (
        "import resource, sys; sys.path[:0] = sys.argv[1:]\n"
        "from record_samples import long_walk\n"
        "from voicewalk.record.pdf import summary_pdf\n"
        "assert summary_pdf(long_walk(10_000), None)\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)\n"
    )
    here = Path(__file__).parent
    command = [sys.executable, "-c", code, str(here), str(here.parents[1])]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert int(done.stdout) < 400


def test_the_same_record_makes_the_same_bytes():
    assert summary_pdf(examined(*WALK), JET) == summary_pdf(examined(*WALK), JET)


def assert_margins_empty(pdf):
    """Nothing is printed within 10 mm of the paper's edges, and something within them."""
    document = pypdfium2.PdfDocument(pdf)
    for page in document:
        shown = page.render(scale=2).to_numpy()
        margin = int(10 / 25.4 * 72 * 2)
        inside = shown[margin:-margin, margin:-margin]
        assert (inside < 128).any()
        shown[margin:-margin, margin:-margin] = 255
        assert (shown == 255).all()


@pytest.mark.parametrize("card", [JET, None], ids=["with its card", "without"])
def test_the_pages_are_shown_and_nothing_runs_over_the_edge(card):
    assert_margins_empty(summary_pdf(examined(*WALK), card))


def test_a_record_of_nothing_has_a_page():
    assert "The walk is not closed." in said(summary_pdf(examined(), None))


def test_the_closing_caution_is_the_cards():
    text = said(summary_pdf(examined(*WALK, {"kind": "closed", "caution": CAUTION}), JET))
    assert CAUTION in text


def test_what_the_second_person_answered_and_what_is_not_confirmed():
    walk = examined(
        {**started(), "second": "Ilka Vey"},
        {**item("nose gear pin"), "second": True},
        {**item("left tyre"), "second": True},
        {"kind": "confirmation", "entry": 2, "item": "nose-gear-pin", "finding": "confirmed"},
        {"kind": "confirmation", "entry": 3, "item": "left-tyre", "finding": "silence"},
    )
    text = said(summary_pdf(walk, None))
    assert "Second person Ilka Vey (a name, no signature)" in text
    told = text[text.index("Not confirmed:") : text.index("Readings")]
    assert told.startswith("Not confirmed: # UTC item said 3 06:00:03 left tyre satisfactory")
    assert "5 06:00:05 left-tyre #3, : silence" in told
    assert told.count("nose gear pin satisfactory") == 0


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(NAMES, inner, max_size=3),
    max_leaves=6,
)
KINDS = st.sampled_from(
    ("started", "item", "remark", "closed", "signed", "confirmation", "status", "sent back")
)


@settings(max_examples=60)
@given(
    bodies=st.lists(
        st.tuples(KINDS, st.dictionaries(NAMES, JUNK, max_size=6)).map(
            lambda pair: {**pair[1], "kind": pair[0]}
        ),
        max_size=4,
    ),
    wall=st.sampled_from(["2031-04-02T06:00:00.000Z", "", "yesterday"]),
)
def test_bodies_of_any_shape_make_pages_and_a_workbook(bodies, wall):
    entries = tuple(Entry(n, 1, Instant(wall, n), body) for n, body in enumerate(bodies, 1))
    walk = Examined(Report(False, ("x",), len(entries), 0, ""), None, entries)
    assert workbook(walk, summary(entries))
    for card in (None, TWO):
        assert json.dumps(summary_sheet(walk, card, ""))
    assert summary_pdf(walk, TWO)


def test_the_status_of_a_discrepancy_stands_beside_it():
    bad = item("radome", "discrepancy", discrepancy={"defect": "dent"})
    given_ = {"kind": "status", "entry": 2, "item": "radome", "status": "circled cross"}
    text = said(summary_pdf(examined(started(), bad, given_), None))
    assert "radome discrepancy: dent (typed) [status: circled cross]" in text
