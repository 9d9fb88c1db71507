"""What somebody may do to a record who has a database tool and no key, or another key: found.

Each by this program and by docs/verify_record.py, which shares no code with it.
"""

import sqlite3
from dataclasses import replace

import other_verifier
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st
from record_samples import CARD, at, item, make_record, started, tone

from voicewalk.record.canonical import canonical
from voicewalk.record.chain import Entry, link, root
from voicewalk.record.claims import by_head, by_key
from voicewalk.record.file import RecordFile, RecordReader
from voicewalk.record.merkle import grown, head_of
from voicewalk.record.seal import head_message, public_hex
from voicewalk.record.verify import examine, verify

MINE = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
"""The key of whoever tampers."""


def alter(path, *statements):
    with sqlite3.connect(path) as db:
        for statement in statements:
            db.execute(*((statement,) if isinstance(statement, str) else statement))
    db.close()


def found(path, words=""):
    """Both verifiers must find something; ours in these words."""
    report = verify(path)
    assert not report.ok
    assert other_verifier.finds(path)
    assert any(words in finding for finding in report.findings), report.findings
    return report


def sealed(meta, entries, key):
    """The entries chained anew, and signed by ``key``."""
    previous, peaks = root(meta), ()
    for entry in entries:
        previous = link(previous, entry)
        peaks = grown(peaks, bytes.fromhex(previous))
        message = head_message(root(meta), entry.seq, head_of(peaks).hex())
        yield replace(entry, hash=previous, signature=key.sign(message).hex())


def rewrite(path, meta, entries):
    alter(
        path,
        "DELETE FROM entries",
        ("UPDATE meta SET key = ?", (meta.key,)),
        *(
            (
                "INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    *(entry.seq, entry.run, entry.at.wall, entry.at.monotonic_ms),
                    *(canonical(entry.body).decode(), entry.start, bytes.fromhex(entry.hash)),
                    *(entry.key or None, bytes.fromhex(entry.signature)),
                ),
            )
            for entry in entries
        ),
    )


def content(path):
    with RecordReader.open(path) as reader:
        return reader.meta(), reader.entries()


def turned(entries, seq):
    """The entries with the result of one turned from bad to good, or the other way."""
    return [
        replace(entry, body={**entry.body, "result": "discrepancy"}) if entry.seq == seq else entry
        for entry in entries
    ]


def test_the_untouched_record_is_whole_for_both(closed):
    assert verify(closed).findings == ()
    assert other_verifier.finds(closed) == []


def test_an_entry_changed(closed):
    alter(closed, "UPDATE entries SET body = replace(body, 'left', 'right') WHERE seq = 3")
    assert found(closed, "entry 3: its hash").trusted_up_to == 2


def test_an_entry_removed(closed):
    alter(closed, "DELETE FROM entries WHERE seq = 3")
    assert found(closed, "entry 4: the entry before it is missing").trusted_up_to == 2


def test_an_entry_removed_and_the_rest_renumbered(closed):
    alter(closed, "DELETE FROM entries WHERE seq = 3")
    alter(closed, "UPDATE entries SET seq = seq - 1 WHERE seq > 3")
    assert found(closed, "entry 3: its hash").trusted_up_to == 2


def test_two_entries_swapped(closed):
    alter(
        closed,
        "UPDATE entries SET seq = 99 WHERE seq = 3",
        "UPDATE entries SET seq = 3 WHERE seq = 4",
        "UPDATE entries SET seq = 4 WHERE seq = 99",
    )
    assert found(closed, "entry 3: its hash").trusted_up_to == 2


def test_an_entry_inserted(closed):
    alter(
        closed,
        "UPDATE entries SET seq = 6 WHERE seq = 5",
        "INSERT INTO entries SELECT 5, run, wall, monotonic_ms, body, start, hash, key, signature"
        " FROM entries WHERE seq = 4",
    )
    assert found(closed, "entry 5: its hash").trusted_up_to == 4


def cut(path):
    """Take the last entry but one and all after it away, with its sound."""
    alter(path, "DELETE FROM entries WHERE seq > 3")
    alter(path, ("DELETE FROM clips WHERE sha256 = ?", (tone(4).sha256,)))


def test_entries_cut_off_at_the_end_leave_a_walk_that_is_not_closed(closed):
    cut(closed)
    report = verify(closed)
    assert report.ok
    assert report.notes[0].startswith("the walk is not closed")


def test_entries_cut_off_at_the_end_are_found_with_a_head(closed):
    head = verify(closed).head
    cut(closed)
    examined = examine(closed)
    report = by_head(examined.report, examined.entries, head)
    assert not report.ok
    assert "never stood" in report.findings[0]
    assert other_verifier.finds(closed, head) == ["the head given never stood in this record"]


def test_rolled_back_to_an_earlier_copy_is_found_with_a_head(path, tmp_path):
    make_record(path)
    early = path.read_bytes()
    with RecordFile.open(path) as record:
        record.append({"kind": "closed"}, at(9))
    late = verify(path).head
    earlier = tmp_path / "early.walk"
    earlier.write_bytes(early)
    head = verify(earlier).head
    now, then = examine(path), examine(earlier)
    assert by_head(now.report, now.entries, head).ok
    assert "after entry 4" in by_head(now.report, now.entries, head).notes[-1]
    assert not by_head(then.report, then.entries, late).ok
    assert other_verifier.finds(path, head) == []
    assert other_verifier.finds(earlier, late)


def test_chained_anew_without_the_key(closed):
    meta, entries = content(closed)
    changed = [
        replace(new, signature=old.signature)
        for new, old in zip(sealed(meta, turned(entries, 3), MINE), entries, strict=True)
    ]
    rewrite(closed, meta, changed)
    assert found(closed, "entry 3: its signature does not fit").trusted_up_to == 2


def test_chained_anew_and_signed_by_another_key(closed):
    meta, entries = content(closed)
    rewrite(closed, meta, sealed(meta, turned(entries, 3), MINE))
    assert found(closed, "entry 1: its signature does not fit").trusted_up_to == 0


def test_signed_by_another_key_that_the_entry_names(closed):
    meta, entries = content(closed)
    new = list(sealed(meta, turned(entries, 3), MINE))[2:]
    rewrite(closed, meta, [*entries[:2], *(replace(one, key=public_hex(MINE)) for one in new)])
    assert found(closed, "entry 3: it is signed by another recorder").trusted_up_to == 2


def test_made_anew_as_a_whole_by_another_key_is_found_with_the_key(closed):
    meta, entries = content(closed)
    mine = replace(meta, key=public_hex(MINE))
    rewrite(closed, mine, sealed(mine, turned(entries, 3), MINE))
    report = verify(closed)
    assert report.ok  # whole in itself: who knows neither key nor head cannot tell
    claimed = by_key(report, meta.key)
    assert not claimed.ok
    assert "another recorder" in claimed.findings[0]


def test_made_anew_by_the_keys_holder_is_found_with_a_head(closed, tmp_path):
    head = verify(closed).head
    again = tmp_path / "again.walk"
    make_record(again, entries=3)
    examined = examine(again)
    assert examined.report.ok
    assert not by_head(examined.report, examined.entries, head).ok


def test_a_sound_swapped_for_another(closed):
    second, third = tone(2).sha256, tone(3).sha256
    alter(
        closed,
        (
            "UPDATE clips SET flac = (SELECT flac FROM clips WHERE sha256 = ?) WHERE sha256 = ?",
            (third, second),
        ),
    )
    assert found(closed, f"entry 2: its sound {second}: it has been changed").trusted_up_to == 1


def test_a_sound_swapped_with_its_name(closed):
    second, other = tone(2).sha256, tone(8)
    alter(
        closed,
        ("DELETE FROM clips WHERE sha256 = ?", (second,)),
        ("INSERT INTO clips VALUES (?, ?, ?)", (other.sha256, other.samples, other.flac)),
    )
    found(closed, f"entry 2: its sound {second}: it is missing")
    found(closed, f"sound {other.sha256}: no entry names it")


@pytest.mark.parametrize(
    "change",
    ["wall = '2031-04-02T05:00:00.000Z'", "monotonic_ms = monotonic_ms + 1", "start = start + 1"],
)
def test_clock_fields_changed(closed, change):
    alter(closed, f"UPDATE entries SET {change} WHERE seq = 3")
    assert found(closed, "entry 3: its hash").trusted_up_to == 2


def test_two_records_spliced(closed, tmp_path):
    # By the same recorder, so that every signature is by the right key.
    other = tmp_path / "other.walk"
    with RecordFile.create(
        other, program="voicewalk 0", recorder="post 1", at=at(5), texts=[CARD]
    ) as record:
        record.append(started(card=CARD), at(6))
        for number in range(2, 6):
            record.append(item("right main tyre", "discrepancy"), at(number * 10))
    meta, entries = content(closed)
    _, others = content(other)
    rewrite(closed, meta, [*entries[:3], *others[3:]])
    assert found(closed, "entry 4: its hash").trusted_up_to == 3


def test_the_cards_text_changed(closed):
    alter(closed, "UPDATE texts SET text = CAST('id: simple' AS BLOB)")
    found(closed, "it has been changed")


def test_the_cards_text_removed_or_another_added(closed):
    alter(closed, "DELETE FROM texts")
    found(closed, "missing")


def test_the_recorders_key_changed(closed):
    alter(closed, ("UPDATE meta SET key = ?", (public_hex(MINE),)))
    assert found(closed, "entry 1: its signature").trusted_up_to == 0


def test_the_key_of_an_entry_spelt_in_another_way(closed):
    meta, _ = content(closed)
    alter(closed, ("UPDATE entries SET key = ? WHERE seq = 3", (meta.key,)))
    found(closed, "entry 3: it names the record's own key")


# --- any change of any field, and any byte --------------------------------------------------


class Whole:
    """A record, its bytes and its cells; without a representation, which would be huge."""

    def __init__(self, path, data, cells):
        self.path, self.data, self.cells = path, data, cells

    def restored(self):
        self.path.write_bytes(self.data)
        return self.path


@pytest.fixture(scope="module")
def rows(tmp_path_factory):
    """A whole record, and all its cells: table, column, row, value."""
    path = make_record(tmp_path_factory.mktemp("cells") / "one.walk", entries=6)
    with RecordFile.open(path) as record:
        record.append({"kind": "closed"}, at(9))
    db = sqlite3.connect(path)
    cells = []
    for table in ("meta", "entries", "clips", "texts"):
        names = [row[1] for row in db.execute(f"PRAGMA table_info({table})")]
        for rowid, *values in db.execute(f"SELECT rowid, {', '.join(names)} FROM {table}"):
            cells += [
                (table, name, rowid, value) for name, value in zip(names, values, strict=True)
            ]
    db.close()
    return Whole(path, path.read_bytes(), cells)


def other_value(draw, value):
    """A value that differs, in one byte or by a little."""
    if value is None:
        return draw(st.sampled_from(["", "00" * 32]) | st.integers(0, 9))
    if isinstance(value, int):
        return value + draw(st.integers(-3, 3).filter(bool))
    data = bytearray(value.encode() if isinstance(value, str) else value)
    place = draw(st.integers(0, len(data) - 1))
    if isinstance(value, str):
        data[place] = draw(st.integers(32, 126).filter(lambda one: one != data[place]))
        return data.decode("latin-1")
    data[place] ^= draw(st.integers(1, 255))
    return bytes(data)


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_any_byte_of_any_cell_changed_is_found(rows, data):
    path = rows.restored()
    table, name, rowid, value = rows.cells[data.draw(st.integers(0, len(rows.cells) - 1))]
    changed = other_value(data.draw, value)
    try:
        alter(path, (f"UPDATE {table} SET {name} = ? WHERE rowid = ?", (changed, rowid)))
    except sqlite3.IntegrityError:  # a number that is taken, or a type that the table refuses
        return
    found(path)


@settings(max_examples=25, deadline=None)
@given(st.permutations(range(1, 8)))
def test_any_other_order_of_the_entries_is_found(rows, order):
    path = rows.restored()
    meta, entries = content(path)
    shuffled = [replace(entries[old - 1], seq=new) for new, old in enumerate(order, 1)]
    rewrite(path, meta, shuffled)
    if order == sorted(order):
        assert verify(path).ok
    else:
        found(path)


def test_an_entry_without_a_signature_cannot_be_stored(closed):
    with pytest.raises(sqlite3.IntegrityError):
        alter(closed, "UPDATE entries SET signature = NULL")


def test_entries_made_of_nothing_are_found(closed):
    meta, entries = content(closed)
    extra = Entry(6, 1, at(10), {"kind": "command"}, hash="00" * 32, signature="00" * 64)
    rewrite(closed, meta, [*entries, extra])
    assert found(closed, "entry 6").trusted_up_to == 5
