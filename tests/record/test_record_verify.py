import sqlite3

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from record_samples import at, item, started, tone

from voicewalk.errors import RecordError
from voicewalk.record.clip import Clip
from voicewalk.record.file import RecordFile, RecordReader
from voicewalk.record.verify import _Check, examine, verify

SECOND, THIRD = tone(2).sha256, tone(3).sha256


def alter(path, *statement):
    """Change a closed record as somebody with a database tool would."""
    with sqlite3.connect(path) as db:
        db.execute(*statement)
    db.close()


def test_a_whole_record(kept):
    with RecordReader.open(kept) as reader:
        head = reader.head()
    report = verify(kept)
    assert report.ok
    assert report.findings == ()
    assert (report.entries, report.trusted_up_to, report.head) == (4, 4, head)


def test_an_empty_record_is_whole(record, path):
    record.close()
    report = verify(path)
    assert (report.ok, report.entries, report.trusted_up_to) == (True, 0, 0)


# Each fault: what was done, words of the finding, up to which entry all is well.
FAULTS = {
    "body changed": (
        ("UPDATE entries SET body = replace(body, 'left main', 'right main') WHERE seq = 3",),
        "entry 3: its hash does not fit",
        2,
    ),
    "result turned": (
        ("UPDATE entries SET body = replace(body, 'satisfactory', 'discrepancy') WHERE seq = 2",),
        "entry 2: its hash does not fit",
        1,
    ),
    "body blank added": (
        ("UPDATE entries SET body = replace(body, '\":', '\": ') WHERE seq = 3",),
        "entry 3: its body cannot be read: it is JSON, but not in its canonical form",
        2,
    ),
    "body no JSON": (("UPDATE entries SET body = 'x' WHERE seq = 3",), "entry 3: its body", 2),
    "body empty": (("UPDATE entries SET body = '' WHERE seq = 3",), "entry 3: its body", 2),
    "body a list": (("UPDATE entries SET body = '[]' WHERE seq = 3",), "entry 3: its body", 2),
    "body no UTF-8": (
        ("UPDATE entries SET body = CAST(x'7bff7d' AS TEXT) WHERE seq = 3",),
        "entry 3: its body cannot be read: 'utf-8' codec",
        2,
    ),
    "wall time changed": (
        ("UPDATE entries SET wall = '2031-04-02T06:00:09.000Z' WHERE seq = 3",),
        "entry 3: its hash does not fit",
        2,
    ),
    "wall time no time": (("UPDATE entries SET wall = '' WHERE seq = 3",), "RFC 3339", 2),
    "monotonic time changed": (
        ("UPDATE entries SET monotonic_ms = monotonic_ms + 1 WHERE seq = 3",),
        "entry 3: its hash does not fit",
        2,
    ),
    "run changed": (
        ("UPDATE entries SET run = 2 WHERE seq > 2",),
        "entry 3: its hash does not fit",
        2,
    ),
    "number beyond JSON": (
        ("UPDATE entries SET start = 9223372036854775807 WHERE seq = 3",),
        "entry 3: its hash does not fit",
        2,
    ),
    "start of sound changed": (
        ("UPDATE entries SET start = start + 1 WHERE seq = 3",),
        "entry 3: its hash does not fit",
        2,
    ),
    "hash changed": (
        ("UPDATE entries SET hash = zeroblob(32) WHERE seq = 3",),
        "entry 3: its hash does not fit",
        2,
    ),
    "hash too short": (("UPDATE entries SET hash = x'00' WHERE seq = 3",), "no SHA-256", 2),
    "entry removed": (
        ("DELETE FROM entries WHERE seq = 3",),
        "entry 4: the entry before it is missing",
        2,
    ),
    "first entry removed": (
        ("DELETE FROM entries WHERE seq = 1",),
        "entry 2: the entry before it is missing",
        0,
    ),
    "last entry removed, its sound left": (
        ("DELETE FROM entries WHERE seq = 4",),
        f"sound {tone(4).sha256}: no entry names it",
        3,
    ),
    "entry renumbered": (("UPDATE entries SET seq = 7 WHERE seq = 4",), "entry 7: the entry", 3),
    "entry put in": (
        (
            "INSERT INTO entries SELECT 5, run, wall, monotonic_ms, body, start, hash, key,"
            " signature FROM entries WHERE seq = 4",
        ),
        "entry 5: its hash does not fit",
        4,
    ),
    "sound removed": (
        ("DELETE FROM clips WHERE sha256 = ?", (SECOND,)),
        f"entry 2: its sound {SECOND}: it is missing",
        1,
    ),
    "sound changed": (
        ("UPDATE clips SET flac = CAST(flac || x'00' AS BLOB) WHERE sha256 = ?", (SECOND,)),
        f"entry 2: its sound {SECOND}: it has been changed",
        1,
    ),
    "sounds swapped": (
        (
            "UPDATE clips SET flac = (SELECT flac FROM clips WHERE sha256 = ?) WHERE sha256 = ?",
            (THIRD, SECOND),
        ),
        f"entry 2: its sound {SECOND}: it has been changed",
        1,
    ),
    "length of sound changed": (
        ("UPDATE clips SET samples = 5 WHERE sha256 = ?", (THIRD,)),
        "it holds 1600 samples and not 5",
        2,
    ),
    "sound put in": (
        ("INSERT INTO clips VALUES ('00', 1, x'00')",),
        "sound 00: no entry names it, and it has been changed",
        4,
    ),
    "recorder changed": (("UPDATE meta SET recorder = 'post 2'",), "entry 1: its hash", 0),
    "time of making changed": (("UPDATE meta SET created = ''",), "entry 1: its hash", 0),
    "description removed": (("DELETE FROM meta",), "describes itself 0 times", 0),
    "description doubled": (
        ("INSERT INTO meta SELECT * FROM meta",),
        "describes itself 2 times",
        0,
    ),
    "all entries removed": (("DELETE FROM entries",), "no entry names it", 0),
}


@pytest.mark.parametrize("fault", FAULTS, ids=lambda name: name.replace(" ", "-"))
def test_a_change_is_found(kept, fault):
    statement, words, trusted = FAULTS[fault]
    alter(kept, *statement)
    report = verify(kept)
    assert not report.ok
    assert any(words in finding for finding in report.findings), report.findings
    assert report.trusted_up_to == trusted


def test_one_changed_entry_is_one_finding(kept):
    alter(kept, *FAULTS["body changed"][0])
    assert len(verify(kept).findings) == 1


def test_sound_with_the_right_hash_that_cannot_be_heard_is_found(record, path):
    noise = Clip(b"no sound at all", 5)
    record.append(item(clip=noise.sha256), at(1), noise)
    record.close()
    report = verify(path)
    assert not report.ok
    assert "cannot be decoded" in report.findings[0]


def test_a_body_nested_without_end_is_a_finding(kept):
    body = '{"a":' + "[" * 100_000 + "]" * 100_000 + "}"
    alter(kept, "UPDATE entries SET body = ? WHERE seq = 3", (body,))
    report = verify(kept)
    assert report.findings[0] == "entry 3: its body cannot be read: it is nested too deeply"


def test_what_can_be_read_is_read_beside_a_damaged_entry(kept):
    alter(kept, "UPDATE entries SET body = 'x' WHERE seq = 3")
    examined = examine(kept)
    assert [entry.seq for entry in examined.entries] == [1, 2, 4]
    assert examined.report.head == ""
    with RecordReader.open(kept) as reader, pytest.raises(RecordError, match="entry 3"):
        reader.entries()


def test_a_damaged_index_is_found(kept):
    # A page of the index alone: every entry and sound is there, but looked up it would be missed.
    db = sqlite3.connect(kept)
    page = db.execute(
        "SELECT rootpage FROM sqlite_master WHERE name = 'sqlite_autoindex_clips_1'"
    ).fetchone()[0]
    db.close()
    data = bytearray(kept.read_bytes())
    start = (page - 1) * 4096
    place = data.index(SECOND.encode(), start, start + 4096)
    data[place] ^= 1
    kept.write_bytes(data)
    report = verify(kept)
    assert not report.ok
    assert "damaged" in report.findings[0]


def test_what_a_writer_appends_meanwhile_is_no_fault(record, path, monkeypatch):
    def append_after(step):
        def stepped(check):
            done = step(check)
            clip = tone(len(record.entries()) + 1)
            record.append(item(clip=clip.sha256), at(9), clip)
            return done

        return stepped

    for name in ("structure", "clips"):
        monkeypatch.setattr(_Check, name, append_after(getattr(_Check, name)))
    record.append(started(), at(1))
    report = verify(path)
    assert (report.findings, report.entries, len(record.entries())) == ((), 1, 3)


# --- bytes flipped anywhere ----------------------------------------------------------------


class Whole:
    """A record with all sorts of pages: its path, its bytes, what it says."""

    def __init__(self, path):
        self.path, self.data, self.said = path, path.read_bytes(), content(path)

    def must_tell(self, data):
        """``verify`` must end in words, and must not say ok of anything changed."""
        self.path.write_bytes(data)
        report = verify(self.path)
        assert report.ok == (not report.findings)
        unchanged = not report.ok or content(self.path) == self.said
        assert unchanged  # and not the comparison itself: a difference would print megabytes


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    path = tmp_path_factory.mktemp("flips") / "one.walk"
    with RecordFile.create(path, program="p", recorder="r", at=at(0)) as record:
        record.append(started(), at(1))
        for number in range(2, 30):
            clip = tone(number, samples=400) if number % 4 else tone(number, samples=9000)
            record.append(item(clip=clip.sha256), at(number), clip)
    return Whole(path)


def content(path):
    """All that a record says: what no flip may change unnoticed."""
    with RecordReader.open(path) as reader:
        entries = reader.entries()
        clips = [reader.clip(entry.body["input"]["heard"]["clip"]) for entry in entries[1:]]
        return reader.meta(), entries, clips


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_flipped_byte_is_never_passed_over(whole, data):
    flipped = bytearray(whole.data)
    place = data.draw(st.integers(0, len(flipped) - 1))
    flipped[place] ^= data.draw(st.integers(1, 255))
    whole.must_tell(bytes(flipped))


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_a_flipped_byte_where_pages_begin_is_never_passed_over(whole, data):
    # Page headers, cell pointers and the schema are few bytes; chance alone rarely hits them.
    flipped = bytearray(whole.data)
    page = data.draw(st.integers(0, len(flipped) // 4096 - 1))
    place = page * 4096 + data.draw(st.integers(0, 140))
    flipped[place] ^= data.draw(st.integers(1, 255))
    whole.must_tell(bytes(flipped))


def test_a_damaged_name_that_sqlite_tells_of_is_a_finding(whole):
    # Found by chance: SQLite's message holds the byte, and Python's module cannot decode it.
    place = whole.data.index(b"tableclips") + len("table")
    whole.must_tell(whole.data[:place] + b"\x80" + whole.data[place + 1 :])
    assert not verify(whole.path).ok


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_cut_file_is_never_passed_over(whole, data):
    size = data.draw(st.integers(0, len(whole.data) - 1))
    whole.must_tell(whole.data[:size])
