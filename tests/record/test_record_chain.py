import hashlib
import json
from dataclasses import replace

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from record_samples import at

from voicewalk.clock import Instant
from voicewalk.record.chain import Entry, Follower, Meta, link, root
from voicewalk.record.merkle import grown, head_of
from voicewalk.record.seal import head_message, public_hex

KEY = Ed25519PrivateKey.from_private_bytes(bytes(32))
META = Meta("post 1", "voicewalk 0", "2031-04-02T06:00:00.000Z", public_hex(KEY))
ROOT = root(META)


def by_hand(domain, value):
    """Sorted keys and no blanks are RFC 8785 for plain ASCII and small whole numbers."""
    text = json.dumps(value, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(domain + b"\x00" + text.encode()).hexdigest()


def test_root_is_the_documented_hash():
    wanted = by_hand(
        b"voicewalk record 2",
        {
            "recorder": "post 1",
            "program": "voicewalk 0",
            "created": "2031-04-02T06:00:00.000Z",
            "key": public_hex(KEY),
        },
    )
    assert wanted == ROOT


ENTRY = Entry(5, 2, at(20), {"kind": "remark"}, 16_000)


def test_link_is_the_documented_hash():
    assert link("aa" * 32, ENTRY) == by_hand(
        b"voicewalk entry 2",
        {
            "previous": "aa" * 32,
            "seq": 5,
            "run": 2,
            "wall": "2031-04-02T06:00:00.020Z",
            "monotonic_ms": 7_020,
            "start": 16_000,
            "body": {"kind": "remark"},
        },
    )


@pytest.mark.parametrize("field", ["recorder", "program", "created", "key"])
def test_root_covers_every_field(field):
    assert root(replace(META, **{field: "other"})) != ROOT


def test_link_covers_the_hash_before():
    assert link("bb" * 32, ENTRY) != link("aa" * 32, ENTRY)


@pytest.mark.parametrize(
    "change",
    [
        {"seq": 6},
        {"run": 3},
        {"at": Instant("2031-04-02T06:00:00.021Z", 7_020)},
        {"at": Instant("2031-04-02T06:00:00.020Z", 7_021)},
        {"body": {"kind": "remark", "item": ""}},
        {"start": None},
        {"start": 0},
    ],
    ids=str,
)
def test_link_covers_every_field(change):
    assert link("aa" * 32, replace(ENTRY, **change)) != link("aa" * 32, ENTRY)


def chain(*times, runs=None):
    entries, previous, peaks = [], ROOT, ()
    for number, time in enumerate(times):
        run = runs[number] if runs else 1
        entry = Entry(number + 1, run, time, {"kind": "remark"})
        previous = link(previous, entry)
        peaks = grown(peaks, bytes.fromhex(previous))
        signed = head_message(ROOT, number + 1, head_of(peaks).hex())
        signature = KEY.sign(signed).hex()
        entries.append(replace(entry, hash=previous, signature=signature))
    return entries


def faults(entries):
    follower = Follower(ROOT, META.key)
    return {entry.seq: found for entry in entries if (found := follower.faults(entry))}


def test_a_whole_chain_has_no_faults():
    assert faults(chain(at(1), at(1), at(2))) == {}


def test_a_changed_body_is_the_fault_of_its_entry_alone():
    entries = chain(at(1), at(2), at(3))
    entries[1] = replace(entries[1], body={"kind": "other"})
    assert list(faults(entries)) == [2]


def test_a_changed_hash_is_the_fault_of_its_entry_and_the_next():
    entries = chain(at(1), at(2), at(3), at(4))
    entries[1] = replace(entries[1], hash="00" * 32)
    assert list(faults(entries)) == [2, 3]


def test_a_missing_entry_is_told():
    entries = chain(at(1), at(2), at(3))
    found = faults([entries[0], entries[2]])
    assert list(found) == [3]
    assert "missing" in found[3][0]


def test_swapped_entries_are_told():
    first, second = chain(at(1), at(2))
    swapped = [replace(second, seq=1), replace(first, seq=2)]
    assert list(faults(swapped)) == [1, 2]


def test_monotonic_time_that_runs_back_is_told():
    assert "runs back" in faults(chain(at(5), at(4)))[2][0]


def test_monotonic_time_begins_anew_with_each_run():
    again = Instant("2031-04-02T09:00:00.000Z", 12)
    assert faults(chain(at(5), again, runs=[1, 2])) == {}


@pytest.mark.parametrize("runs", [[0, 1], [2, 2], [1, 3], [1, -1]], ids=str)
def test_runs_are_counted_from_one_without_gaps(runs):
    assert "run" in str(faults(chain(at(5), at(6), runs=runs)))


def test_a_number_that_json_cannot_hold_is_a_fault():
    entry = replace(chain(at(1))[0], start=2**60)
    assert "hash does not fit" in faults([entry])[1][0]


def test_wall_time_may_be_stepped_back():
    assert faults(chain(at(5), Instant("2030-01-01T00:00:00.000Z", 8_000))) == {}


@pytest.mark.parametrize(
    "wall",
    [
        "",
        "now",
        "2031-04-02 06:00:00.000Z",
        "2031-04-02T06:00:00Z",
        "2031-04-02T06:00:00.000+00:00",
    ],
)
def test_wall_time_in_another_form_is_told(wall):
    assert "RFC 3339" in faults(chain(Instant(wall, 1)))[1][0]
