import base64
import csv
import hashlib
import json
import sqlite3
from dataclasses import replace
from io import StringIO

import pytest
from record_samples import tone

from voicewalk.errors import RecordError
from voicewalk.record.clip import decode_clip
from voicewalk.record.export import Form, card_of, exported, write_clips, write_new
from voicewalk.record.file import RecordReader
from voicewalk.record.verify import examine


def test_json_holds_everything(kept):
    examined = examine(kept)
    document = json.loads(exported(kept, examined, Form.JSON))
    with RecordReader.open(kept) as record:
        assert [entry["body"] for entry in document["entries"]] == [
            entry.body for entry in record.entries()
        ]
        assert document["report"]["head"] == record.head()
    assert document["meta"]["recorder"] == "post 1"
    assert document["report"]["ok"]
    for number in (2, 3, 4):
        flac = base64.b64decode(document["sounds"][tone(number).sha256], validate=True)
        assert flac == tone(number).flac


def test_json_is_enough_to_compute_the_chain_anew(kept):
    document = json.loads(exported(kept, examine(kept), Form.JSON))

    def digest(domain, value):  # RFC 8785 for ASCII and small whole numbers
        text = json.dumps(value, sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(domain + b"\0" + text.encode()).hexdigest()

    previous = digest(b"voicewalk record 2", document["meta"])
    for entry in document["entries"]:
        stored = entry.pop("hash")
        del entry["signature"], entry["key"]
        previous = digest(b"voicewalk entry 2", {**entry, "previous": previous})
        assert previous == stored


def test_csv_and_text_are_of_the_same_record(kept):
    examined = examine(kept)
    table = list(csv.DictReader(StringIO(exported(kept, examined, Form.CSV).decode(), newline="")))
    assert [row["seq"] for row in table] == ["2", "3", "4"]
    report = exported(kept, examined, Form.TEXT).decode()
    assert examined.report.head in report
    assert "VW 012" in report


def test_clips_are_written_as_they_lie_in_the_record(kept, tmp_path):
    folder = tmp_path / "new" / "sounds"
    assert write_clips(kept, examine(kept), folder) == 3
    names = sorted(file.name for file in folder.iterdir())
    assert names == ["entry-00002.flac", "entry-00003.flac", "entry-00004.flac"]
    flac = (folder / "entry-00003.flac").read_bytes()
    assert flac == tone(3).flac
    assert len(decode_clip(flac)) == 1600


def test_a_changed_sound_is_left_out_and_told(kept, tmp_path):
    with sqlite3.connect(kept) as db:
        db.execute("UPDATE clips SET flac = x'00' WHERE sha256 = ?", (tone(3).sha256,))
    db.close()
    examined = examine(kept)
    assert write_clips(kept, examined, tmp_path / "sounds") == 2
    document = json.loads(exported(kept, examined, Form.JSON))
    assert document["sounds"][tone(3).sha256] is None
    assert not document["report"]["ok"]


def test_an_export_never_takes_the_place_of_a_file(kept):
    before = kept.read_bytes()
    with pytest.raises(RecordError, match="already"):
        write_new(kept, b"report")
    assert kept.read_bytes() == before


def test_an_export_into_nowhere_is_told(tmp_path):
    with pytest.raises(RecordError, match="No such file"):
        write_new(tmp_path / "none" / "report.txt", b"report")


def test_clips_into_a_file_are_told(kept, tmp_path):
    (tmp_path / "taken").touch()
    with pytest.raises(RecordError):
        write_clips(kept, examine(kept), tmp_path / "taken")


def test_no_card_is_no_card(kept):
    assert card_of(replace(examine(kept), texts={})) is None


def test_a_card_that_this_program_cannot_read_is_no_card(kept):
    assert card_of(examine(kept)) is None
