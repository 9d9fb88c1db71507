"""What is whole in a damaged file comes over; what is not is told; the original stays."""

import os
import sqlite3

import other_verifier
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st
from record_samples import CARD, at, item, make_record, started, tone

from voicewalk.errors import RecordError
from voicewalk.record.file import RecordFile, RecordReader
from voicewalk.record.recovery import recover
from voicewalk.record.signing import Role, sign
from voicewalk.record.verify import verify

NOW = at(50)


def alter(path, *statement):
    with sqlite3.connect(path) as db:
        db.execute(*statement)
    db.close()


def recovered(path, to=None):
    """Recover; the original must not change, and the new record must be whole."""
    new = to or path.with_name("new.walk")
    before = path.read_bytes()
    told = recover(path, new, program="voicewalk 0", recorder="desk", at=NOW)
    assert path.read_bytes() == before
    assert verify(new).findings == ()
    assert other_verifier.finds(new) == []
    assert sorted(one.name for one in path.parent.iterdir()) == sorted([path.name, new.name])
    return new, told


def content(path):
    with RecordReader.open(path) as record:
        return record.meta(), record.entries()


def test_a_changed_entry_is_lost_and_all_others_come_over(path):
    make_record(path, entries=6)
    meta, entries = content(path)
    alter(path, "UPDATE entries SET body = replace(body, 'left', 'port') WHERE seq = 4")
    new, told = recovered(path)
    assert told["original"]["meta"]["key"] == meta.key
    assert (told["lost"], told["unproved"], told["original"]["size"]) == ([4], [], 3)
    _, kept = content(new)
    assert [entry.body["kind"] for entry in kept[3:]] == ["lost", "item", "item", "recovered"]
    for old in (1, 2, 3, 5, 6):
        assert kept[old - 1].body == entries[old - 1].body
        assert kept[old - 1].at == entries[old - 1].at
        assert kept[old - 1].start == entries[old - 1].start
    with RecordReader.open(new) as record:
        assert record.clip(tone(5).sha256) == tone(5).flac
    notes = " ".join(verify(new).notes)
    assert "its recorder signed entries 1 to 3; lost: 4" in notes


def test_after_a_lost_row_the_next_entry_is_not_shown_to_be_unchanged(path):
    make_record(path, entries=6)
    alter(path, "DELETE FROM entries WHERE seq IN (3, 4)")
    _, told = recovered(path)
    assert (told["lost"], told["unproved"], told["original"]["size"]) == ([3, 4], [5], 2)


def test_lost_at_the_end(path):
    make_record(path, entries=6)
    alter(path, "UPDATE entries SET body = '{}' WHERE seq = 6")
    new, told = recovered(path)
    assert (told["lost"], told["original"]["size"]) == ([6], 5)
    assert [entry.seq for entry in content(new)[1]] == [1, 2, 3, 4, 5, 6]
    assert content(new)[1][5].body["kind"] == "recovered"


def test_the_first_entry_lost(path):
    make_record(path, entries=4)
    alter(path, "DELETE FROM entries WHERE seq = 1")
    new, told = recovered(path)
    assert (told["lost"], told["unproved"], told["original"]["size"]) == ([1], [2], 0)
    assert content(new)[1][0].body == {"kind": "lost"}


def test_what_the_record_says_about_itself_lost(path):
    make_record(path, entries=4)
    alter(path, "DELETE FROM meta")
    _, told = recovered(path)
    assert (told["lost"], told["unproved"], told["original"]["size"]) == ([], [1], 0)
    assert told["original"]["meta"] == {}


def test_a_changed_sound_is_lost_and_its_entry_is_not(path):
    make_record(path)
    alter(path, "UPDATE clips SET flac = x'00' WHERE sha256 = ?", (tone(3).sha256,))
    new, told = recovered(path)
    assert (told["lost"], told["sounds_lost"]) == ([], [tone(3).sha256])
    assert any("was lost before the recovery" in note for note in verify(new).notes)


def test_the_card_lost(path):
    make_record(path)
    alter(path, "DELETE FROM texts")
    _, told = recovered(path)
    assert len(told["texts_lost"]) == 1


def test_sealed_anew_by_another_key_is_said_not_to_be_its_recorders(path, tmp_path, monkeypatch):
    make_record(path)
    alter(path, "UPDATE entries SET signature = zeroblob(64) WHERE seq >= 3")
    _, told = recovered(path)
    assert told["original"]["size"] == 2


def test_a_false_claim_about_the_original_is_found(path):
    make_record(path)
    alter(path, "UPDATE entries SET body = '{}' WHERE seq = 4")
    new, told = recovered(path)
    alter(new, "DELETE FROM entries WHERE seq = 4")
    with RecordFile.open(new) as record:
        claim = {**told, "original": {**told["original"], "size": 2}}
        record.append(claim, NOW)
    assert "not signed by the original's recorder" in str(verify(new).findings)


def test_signatures_of_people_still_count(path):
    make_record(path)
    key = Ed25519PrivateKey.from_private_bytes(bytes(32))
    with RecordFile.open(path) as record:
        record.append({"kind": "closed"}, at(9))
        sign(record, Role.LEAD, "Jorun Sedd", key, at(10))
        record.append({"kind": "redacted", "entry": 1, "clip": "", "reason": "test"}, at(11))
    alter(path, "UPDATE entries SET body = '{}' WHERE seq = 7")
    new, _ = recovered(path)
    assert any("signed as lead by Jorun Sedd" in note for note in verify(new).notes)


def test_a_recovered_record_is_recovered_again(path):
    make_record(path, entries=6)
    alter(path, "UPDATE entries SET body = '{}' WHERE seq = 6")
    new, _ = recovered(path)
    elsewhere = path.parent / "again"
    elsewhere.mkdir()
    second = elsewhere / "second.walk"
    second.write_bytes(new.read_bytes())
    alter(second, "UPDATE clips SET flac = x'00' WHERE sha256 = ?", (tone(3).sha256,))
    third, told = recovered(second)
    assert (told["lost"], told["original"]["size"]) == ([], 6)
    assert len(content(third)[1]) == 7


def test_a_whole_record_is_not_recovered(kept, tmp_path):
    with pytest.raises(RecordError, match="it is whole"):
        recover(kept, tmp_path / "new.walk", program="p", recorder="r", at=NOW)


@pytest.mark.parametrize("data", [b"", b"left main tyre", bytes(9000), os.urandom(9000)])
def test_what_holds_no_entry_is_told(path, tmp_path, data):
    path.write_bytes(data)
    with pytest.raises(RecordError):
        recover(path, tmp_path / "new.walk", program="p", recorder="r", at=NOW)
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_a_file_that_is_there_is_not_replaced(path):
    make_record(path)
    alter(path, "DELETE FROM texts")
    taken = path.with_name("taken.walk")
    taken.write_bytes(b"mine")
    with pytest.raises(RecordError, match="already"):
        recover(path, taken, program="p", recorder="r", at=NOW)
    assert taken.read_bytes() == b"mine"


# --- damaged pages -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def long(tmp_path_factory):
    """A record of many pages, and its entries."""
    path = tmp_path_factory.mktemp("long") / "one.walk"
    with RecordFile.create(path, program="p", recorder="r", at=at(0), texts=[CARD]) as record:
        record.append(started(card=CARD), at(1))
        for number in range(2, 41):
            clip = tone(number, samples=400)
            record.append(item(clip=clip.sha256), at(number), clip)
    return path.read_bytes(), content(path)[1]


def salvaged(folder, data):
    """Recover and compare: nothing comes over that was not there."""
    damaged, new = folder / "damaged.walk", folder / "new.walk"
    damaged.write_bytes(data)
    new.unlink(missing_ok=True)
    recover(damaged, new, program="p", recorder="r", at=NOW)
    assert verify(new).findings == ()
    return content(new)[1]


def test_without_its_first_page_all_entries_are_found(long, tmp_path):
    data, entries = long
    kept = salvaged(tmp_path, bytes(4096) + data[4096:])
    assert [one.body for one in kept[: len(entries)]] == [one.body for one in entries]


@pytest.mark.parametrize("part", [0.5, 0.75, 0.9])
def test_cut_short_the_entries_that_are_left_are_found(long, tmp_path, part):
    data, entries = long
    kept = salvaged(tmp_path, data[: int(len(data) * part)])
    whole = [one for one in kept if one.body["kind"] in ("started", "item")]
    assert whole
    assert all(one.body == entries[one.seq - 1].body for one in whole)


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_any_page_destroyed_ends_in_words_or_in_a_whole_record(long, tmp_path_factory, data):
    whole, entries = long
    page = data.draw(st.integers(0, len(whole) // 4096 - 1))
    filling = data.draw(st.sampled_from([bytes(4096), b"\xff" * 4096, os.urandom(4096)]))
    damaged = whole[: page * 4096] + filling + whole[(page + 1) * 4096 :]
    try:
        kept = salvaged(tmp_path_factory.mktemp("page"), damaged)
    except RecordError as error:
        assert error.what_to_do
        return
    said = [one for one in kept if one.body["kind"] in ("started", "item")]
    assert all(one.body == entries[one.seq - 1].body for one in said)
