import sqlite3

import other_verifier
import pytest
from record_samples import at, item, make_record, started, tone

from voicewalk.clock import Instant
from voicewalk.errors import RecordError
from voicewalk.record.file import RecordFile, RecordReader
from voicewalk.record.redaction import redact_entry, redact_older
from voicewalk.record.verify import verify

WHY = "a bystander's name"


def redact(path, seq, reason=WHY):
    with RecordFile.open(path) as record:
        return redact_entry(record, seq, reason, at(9))


def test_the_sound_is_gone_and_the_fact_stays(kept):
    sound = tone(3).flac
    assert sound in whole_bytes(kept)
    assert redact(kept, 3) == 5
    assert sound[60:200] not in kept.read_bytes()
    report = verify(kept)
    assert report.findings == ()
    assert f"entry 3: its sound was taken out by entry 5: {WHY}" in report.notes
    assert other_verifier.finds(kept) == []
    with RecordReader.open(kept) as record, pytest.raises(RecordError, match="is missing"):
        record.clip(tone(3).sha256)


def whole_bytes(path):
    """All clips as SQLite reads them: in the file they lie in pieces."""
    db = sqlite3.connect(path)
    data = b"".join(flac for (flac,) in db.execute("SELECT flac FROM clips"))
    db.close()
    return data


def test_other_sounds_stay(kept):
    redact(kept, 3)
    with RecordReader.open(kept) as record:
        assert record.clip(tone(2).sha256) == tone(2).flac


def test_a_sound_of_two_entries_is_gone_for_both(record, path):
    clip = tone()
    record.append(started(), at(1))
    record.append(item(clip=clip.sha256), at(2), clip)
    record.append(item(clip=clip.sha256), at(3))
    record.close()
    redact(path, 3)
    report = verify(path)
    assert report.findings == ()
    assert sum("was taken out" in note for note in report.notes) == 2


@pytest.mark.parametrize("seq", [1, 5, 99])
def test_what_has_no_sound_is_told(kept, seq):
    with pytest.raises(RecordError, match="has no sound"):
        redact(kept, seq)
    assert verify(kept).entries == 4


def test_a_sound_is_taken_out_once(kept):
    redact(kept, 3)
    with pytest.raises(RecordError, match="has no sound"):
        redact(kept, 3)


def test_a_reason_is_needed(kept):
    with pytest.raises(RecordError, match="no reason"):
        redact(kept, 3, " ")
    assert verify(kept).entries == 4


def test_another_recorder_takes_nothing_out(kept, tmp_path, monkeypatch):
    monkeypatch.setenv("VOICEWALK_KEYS", str(tmp_path / "other"))
    with pytest.raises(RecordError, match="another recorder"):
        redact(kept, 3)
    with RecordReader.open(kept) as record:
        assert record.clip(tone(3).sha256) == tone(3).flac


def test_a_sound_removed_without_an_entry_is_missing(kept):
    with sqlite3.connect(kept) as db:
        db.execute("DELETE FROM clips WHERE sha256 = ?", (tone(3).sha256,))
    db.close()
    assert "it is missing" in verify(kept).findings[0]


def test_a_sound_put_back_is_found(kept):
    redact(kept, 3)
    with sqlite3.connect(kept) as db:
        clip = tone(3)
        db.execute("INSERT INTO clips VALUES (?, ?, ?)", (clip.sha256, clip.samples, clip.flac))
    db.close()
    assert "yet it is there" in verify(kept).findings[0]
    assert other_verifier.finds(kept)


def test_sounds_older_than_so_many_days_go(path):
    make_record(path)
    with RecordFile.open(path) as record:
        late = Instant("2031-05-01T06:00:00.000Z", 10)
        clip = tone(9)
        record.append(item(clip=clip.sha256), late, clip)
        later = Instant("2031-05-03T06:00:00.000Z", 20)
        assert redact_older(record, 3, later) == [6, 7, 8]
        assert redact_older(record, 3, later) == []
        assert record.clip(clip.sha256) == clip.flac
        assert record.entries()[-1].body["reason"] == "older than 3 days"
    assert verify(path).findings == ()
    assert other_verifier.finds(path) == []
