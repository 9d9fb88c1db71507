import os
import sqlite3
import stat
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from record_samples import at, call, item, make_record, started, tone
from test_record_canonical import JSON

from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record import database
from voicewalk.record.file import RecordFile, RecordReader
from voicewalk.record.merkle import tree_head
from voicewalk.record.verify import verify


def beside(path):
    """Names of what lies beside a record and belongs to it."""
    return sorted(one.name for one in path.parent.iterdir() if one != path)


# --- keeping and reading ------------------------------------------------------------------


def test_entries_come_back_as_they_were_kept(record):
    clip = tone()
    bodies = [started(), item(clip=clip.sha256), {"kind": "device back"}]
    assert record.append(bodies[0], at(1)) == 1
    assert record.append(bodies[1], at(2), clip) == 2
    assert record.append(bodies[2], at(3)) == 3
    entries = record.entries()
    assert [entry.body for entry in entries] == bodies
    assert [entry.seq for entry in entries] == [1, 2, 3]
    assert [entry.at for entry in entries] == [at(1), at(2), at(3)]
    assert [entry.start for entry in entries] == [None, clip.start, None]
    assert record.clip(clip.sha256) == clip.flac


def test_meta_comes_back(record):
    meta = record.meta()
    assert (meta.recorder, meta.program, meta.created) == ("post 1", "voicewalk 0", at(0).wall)


def test_head_is_the_merkle_head_over_the_hashes(record):
    assert record.head() == tree_head([]).hex()
    record.append(started(), at(1))
    record.append(item(), at(2))
    assert record.head() == tree_head(bytes.fromhex(one.hash) for one in record.entries()).hex()


def test_a_closed_record_is_one_file_with_nothing_beside_it(kept):
    assert beside(kept) == []
    assert kept.read_bytes()[:16] == b"SQLite format 3\x00"


def test_reading_a_closed_record_leaves_nothing_beside_it(kept):
    before = kept.read_bytes()
    with RecordReader.open(kept) as reader:
        assert len(reader.entries()) == 4
        assert beside(kept) == []
    assert verify(kept).ok
    assert beside(kept) == []
    assert kept.read_bytes() == before


@pytest.mark.parametrize("name", ["a?b#c%20d.walk", "é 1.walk", "'; --.walk", "-lock"])
def test_any_name_will_do(tmp_path, name):
    path = make_record(tmp_path / name)
    assert verify(path).ok
    with RecordFile.open(path) as record:
        assert record.append(item(), at(9)) == 5
    assert beside(path) == []


def test_the_file_says_whose_it_is(kept):
    # sqlite.org/fileformat2.html: user version at offset 60, application ID at offset 68.
    header = kept.read_bytes()[:100]
    assert header[68:72] == b"VoWa"
    assert int.from_bytes(header[60:64], "big") == 2


def test_commits_outlive_a_power_cut_by_sqlites_settings(record):
    # sqlite.org/pragma.html#pragma_synchronous: in WAL mode FULL (2) syncs after each commit.
    assert record._db.execute("PRAGMA journal_mode").fetchone()[0] == b"wal"
    assert record._db.execute("PRAGMA synchronous").fetchone()[0] == 2


def test_the_file_alone_holds_all_when_append_has_returned(record, path, tmp_path):
    # "Copying the file copies everything", even when the "-wal" beside it is left behind.
    clip = tone()
    record.append(started(), at(1))
    record.append(item(clip=clip.sha256), at(2), clip)
    copy = tmp_path / "copy.walk"
    copy.write_bytes(path.read_bytes())
    report = verify(copy)
    assert (report.ok, report.entries) == (True, 2)


def test_going_on_with_a_record(kept):
    with RecordFile.open(kept) as record:
        assert record.append({"kind": "interrupted", "gap_ms": 5}, at(9)) == 5
    assert verify(kept).ok
    assert beside(kept) == []


def test_one_clip_may_belong_to_two_entries(record):
    clip = tone()
    record.append(item(clip=clip.sha256), at(1), clip)
    record.append({"kind": "command", "input": call(clip=clip.sha256)}, at(1))
    record.append(item(clip=clip.sha256), at(2), replace(clip, start=99))
    assert [entry.start for entry in record.entries()] == [16_000, None, 99]
    assert record._db.execute("SELECT count(*) FROM clips").fetchone() == (1,)


@settings(max_examples=30, deadline=None)
@given(bodies=st.lists(st.dictionaries(st.text(), JSON, max_size=5), max_size=6))
def test_any_bodies_come_back_and_verify(tmp_path_factory, bodies):
    path = tmp_path_factory.mktemp("any") / "one.walk"
    bodies = [{**body, "input": {}} for body in bodies]
    with RecordFile.create(path, program="p", recorder="r", at=at(0)) as record:
        for number, body in enumerate(bodies):
            assert record.append(body, at(number)) == number + 1
        assert [entry.body for entry in record.entries()] == bodies
        again = path.with_name("again.walk")
        with RecordFile.create(again, program="p", recorder="r", at=at(0)) as replayed:
            for entry in record.entries():
                replayed.append(entry.body, entry.at)
            assert replayed.entries() == record.entries()
    report = verify(path)
    assert (report.ok, report.entries, report.findings) == (True, len(bodies), ())


def test_a_transaction_is_all_or_nothing(record):
    with pytest.raises(KeyboardInterrupt), database.transaction(record._db):
        record._db.execute("INSERT INTO clips VALUES ('00', 1, x'00')")
        raise KeyboardInterrupt
    assert record._db.execute("SELECT count(*) FROM clips").fetchone() == (0,)
    assert record.append(started(), at(1)) == 1


# --- what the program must not do ----------------------------------------------------------


def test_a_clip_that_the_body_does_not_name_is_a_program_error(record):
    with pytest.raises(RuntimeError, match="names the clip"):
        record.append(item(clip=tone(1).sha256), at(1), tone(2))
    with pytest.raises(RuntimeError, match="names the clip"):
        record.append(item(), at(1), tone(2))
    assert record.entries() == []


def test_a_name_without_its_clip_is_a_program_error(record):
    with pytest.raises(RuntimeError, match="did not come"):
        record.append(item(clip=tone(1).sha256), at(1))
    assert record.entries() == []


def test_time_that_runs_back_is_a_program_error(record):
    record.append(started(), at(5))
    with pytest.raises(RuntimeError, match="runs back"):
        record.append(item(), at(4))
    assert len(record.entries()) == 1


def test_a_boot_may_lie_between_two_runs(kept):
    # The entry that was pending when the power went comes before "interrupted".
    boot = Instant("2031-04-02T07:00:00.000Z", 3)
    with RecordFile.open(kept) as record:
        assert record.append(item(), boot) == 5
        assert record.append({"kind": "interrupted", "gap_ms": 1}, boot) == 6
        with pytest.raises(RuntimeError, match="runs back"):
            record.append(item(), Instant(boot.wall, 2))
    with RecordFile.open(kept):
        pass  # a run that keeps nothing leaves no trace
    with RecordFile.open(kept) as record:
        record.append(item(), Instant(boot.wall, 1))
        assert [entry.run for entry in record.entries()] == [1, 1, 1, 1, 2, 2, 3]
    assert verify(kept).ok


def test_a_text_that_is_not_unicode_is_told_and_nothing_is_kept(record):
    # What a terminal sends in another encoding arrives as half a surrogate pair (PEP 383).
    with pytest.raises(RecordError, match="cannot be kept") as error:
        record.append(item(name="b\udce9ton"), at(1))
    assert "again" in error.value.what_to_do
    assert record.append(item(), at(1)) == 1


# --- who may open it -----------------------------------------------------------------------


def test_a_second_writer_is_refused_clearly(record, path):
    with pytest.raises(RecordError, match="another walk is writing"):
        RecordFile.open(path)
    assert record.append(started(), at(1)) == 1


def test_a_second_writer_by_another_name_is_refused_too(record, path, tmp_path):
    link = tmp_path / "link.walk"
    link.symlink_to(path)
    with pytest.raises(RecordError, match="another walk is writing"):
        RecordFile.open(link)
    assert record.append(started(), at(1)) == 1


def test_the_lock_ends_with_the_writer(record, path):
    record.close()
    with RecordFile.open(path) as again:
        assert again.append(started(), at(1)) == 1


def test_closing_twice_does_not_open_the_lock_of_the_next_writer(record, path):
    record.close()
    with RecordFile.open(path):
        record.close()
        with pytest.raises(RecordError, match="another walk is writing"):
            RecordFile.open(path)


def test_a_lock_file_that_a_crash_left_locks_nobody_out(kept):
    left = kept.with_name(kept.name + "-lock")
    left.touch()
    with RecordFile.open(kept) as record:
        assert record.append(item(), at(9)) == 5
    assert beside(kept) == []


def test_readers_see_each_entry_while_the_writer_goes_on(record, path):
    with RecordReader.open(path) as reader:
        for number in range(1, 6):
            clip = tone(number)
            record.append(item(clip=clip.sha256), at(number), clip)
            assert [entry.seq for entry in reader.entries()] == list(range(1, number + 1))
            assert reader.clip(clip.sha256) == clip.flac
            assert verify(path).ok


def test_a_reader_that_stays_does_not_keep_the_writer_from_closing(record, path):
    record.append(started(), at(1))
    with RecordReader.open(path) as reader:
        reader._db.execute("BEGIN")
        assert len(reader.entries()) == 1
        record.append(item(), at(2))
        record.close()
        assert len(reader.entries()) == 1
    with RecordFile.open(path) as again:
        assert len(again.entries()) == 2
    assert beside(path) == []


def test_a_reader_cannot_write(kept):
    with RecordReader.open(kept) as reader, pytest.raises(sqlite3.OperationalError):
        reader._db.execute("DELETE FROM entries")


def test_a_new_record_never_takes_the_place_of_a_file(kept):
    before = kept.read_bytes()
    with pytest.raises(RecordError, match="already") as error:
        RecordFile.create(kept, program="p", recorder="r", at=at(0))
    assert "another name" in error.value.what_to_do
    assert kept.read_bytes() == before
    assert beside(kept) == []


def test_a_new_record_needs_its_folder(tmp_path):
    with pytest.raises(RecordError, match="No such file or directory"):
        RecordFile.create(tmp_path / "none" / "one.walk", program="p", recorder="r", at=at(0))


# --- files that are no record ---------------------------------------------------------------


def other_database(path):
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE entries (seq INTEGER PRIMARY KEY, hash BLOB)")
    db.close()


def record_with(statement):
    def make(path):
        make_record(path)
        with sqlite3.connect(path) as db:
            db.execute(statement)
        db.close()

    return make


def truncated_record(path):
    make_record(path)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def header_only(path):
    make_record(path)
    path.write_bytes(path.read_bytes()[:100])


NO_RECORDS = {
    "missing": (lambda path: None, "no such file"),
    "folder": (lambda path: path.mkdir(), "no file"),
    "empty file": (lambda path: path.touch(), "no record of voicewalk"),
    "plain text": (lambda path: path.write_text("left main tyre\n" * 99), "no record of voicewalk"),
    "zeros": (lambda path: path.write_bytes(bytes(8192)), "no record of voicewalk"),
    "other database": (other_database, "no record of voicewalk"),
    "newer format": (record_with("PRAGMA user_version = 3"), "format 3"),
    "foreign table": (record_with("CREATE TABLE notes (a)"), "tables"),
    "trigger": (
        record_with("CREATE TRIGGER t AFTER INSERT ON entries BEGIN DELETE FROM clips; END"),
        "tables",
    ),
    "table dropped": (record_with("DROP TABLE clips"), "tables"),
    "truncated": (truncated_record, "damaged"),
    "header only": (header_only, "damaged|no record"),
    "named pipe": (os.mkfifo, "no file"),
}


@pytest.fixture(params=NO_RECORDS, ids=lambda name: name.replace(" ", "-"))
def no_record(request, path):
    make, words = NO_RECORDS[request.param]
    make(path)
    return path, words


def test_no_record_is_refused_for_writing(no_record):
    path, words = no_record
    with pytest.raises(RecordError, match=words) as error:
        RecordFile.open(path)
    assert error.value.what_to_do
    assert beside(path) == []


def test_no_record_is_refused_for_reading(no_record):
    path, words = no_record
    with pytest.raises(RecordError, match=words) as error, RecordReader.open(path) as reader:
        reader.entries()
    assert error.value.what_to_do


def test_no_record_never_verifies(no_record):
    report = verify(no_record[0])
    assert not report.ok
    assert report.findings


def test_a_file_of_another_program_is_not_changed(path):
    other_database(path)
    before = path.read_bytes()
    with pytest.raises(RecordError):
        RecordFile.open(path)
    assert path.read_bytes() == before


def test_nothing_is_appended_to_a_record_that_was_changed(kept):
    with sqlite3.connect(kept) as db:
        db.execute("UPDATE entries SET wall = '2031-04-02T06:00:00.009Z' WHERE seq = 3")
    db.close()
    with pytest.raises(RecordError, match="entry 3: its hash does not fit") as error:
        RecordFile.open(kept)
    assert "evidence" in error.value.what_to_do
    assert beside(kept) == []


def test_a_clip_that_is_missing_or_changed_is_told(kept):
    with sqlite3.connect(kept) as db:
        db.execute("UPDATE clips SET flac = x'00' WHERE sha256 = ?", (tone(2).sha256,))
    db.close()
    with RecordReader.open(kept) as reader:
        with pytest.raises(RecordError, match="has been changed"):
            reader.clip(tone(2).sha256)
        with pytest.raises(RecordError, match="is missing"):
            reader.clip(tone(9).sha256)


def test_a_new_record_is_not_for_everybody_to_write(kept):
    assert not stat.S_IMODE(kept.stat().st_mode) & 0o002
