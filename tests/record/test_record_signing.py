import sqlite3

import other_verifier
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from record_samples import at, item

from voicewalk.errors import RecordError
from voicewalk.record.file import RecordFile
from voicewalk.record.report import text_report
from voicewalk.record.seal import fingerprint, public_hex
from voicewalk.record.signing import Role, sign
from voicewalk.record.verify import examine, verify

ORLO, VEY = (Ed25519PrivateKey.from_private_bytes(bytes([one] * 32)) for one in (1, 2))


def signed(path, role=Role.INSPECTOR, name="Tamsin Orlo", key=ORLO, ms=20):
    with RecordFile.open(path) as record:
        return sign(record, role, name, key, at(ms))


def test_a_signature_is_an_entry_over_all_before_it(closed):
    head = verify(closed).head
    assert signed(closed) == 6
    with RecordFile.open(closed) as record:
        body = record.entries()[-1].body
    assert (body["size"], body["head"], body["role"]) == (5, head, "inspector")
    assert body["key"] == public_hex(ORLO)
    report = verify(closed)
    assert report.findings == ()
    key = fingerprint(public_hex(ORLO))
    assert f"entry 6: entries 1 to 5 signed as inspector by Tamsin Orlo, key {key}" in report.notes
    assert other_verifier.finds(closed) == []


def test_three_people_sign(closed):
    third = Ed25519PrivateKey.from_private_bytes(bytes([3] * 32))
    signed(closed)
    signed(closed, Role.SECOND, "Ilka Vey", VEY)
    signed(closed, Role.LEAD, "Jorun Sedd", third)
    assert verify(closed).findings == ()
    assert other_verifier.finds(closed) == []


def test_the_same_person_may_sign_again_in_the_same_role(closed):
    signed(closed)
    assert signed(closed, name=" tamsin  ORLO ") == 7
    assert verify(closed).findings == ()


@pytest.mark.parametrize(("name", "key"), [("Ilka Vey", ORLO), ("tamsin orlo", VEY)])
def test_nobody_signs_in_two_roles(closed, name, key):
    signed(closed)
    with pytest.raises(RecordError, match="has signed as inspector too"):
        signed(closed, Role.LEAD, name, key)
    assert verify(closed).entries == 6


def test_an_open_walk_is_not_signed(kept):
    with pytest.raises(RecordError, match="not closed") as error:
        signed(kept)
    assert "Close the walk" in error.value.what_to_do
    assert verify(kept).entries == 4


@pytest.mark.parametrize("name", ["", "  ", "b\udce9ton"])
def test_a_name_that_is_none_is_refused(closed, name):
    with pytest.raises(RecordError):
        signed(closed, name=name)
    assert verify(closed).entries == 5


def test_another_recorder_may_add_a_signature_and_nothing_else(closed, tmp_path, monkeypatch):
    monkeypatch.setenv("VOICEWALK_KEYS", str(tmp_path / "other"))
    signed(closed)
    report = verify(closed)
    assert report.findings == ()
    assert any("entry 6: added by another recorder" in note for note in report.notes)
    assert other_verifier.finds(closed) == []
    with RecordFile.open(closed) as record, pytest.raises(RecordError, match="another recorder"):
        record.append(item(), at(30))


@pytest.mark.parametrize(
    "change",
    [
        {"name": "Tamsin Orla"},
        {"role": "lead"},
        {"size": 4},
        {"head": "00" * 32},
        {"key": "00" * 32},
    ],
    ids=str,
)
def test_a_recorder_cannot_sign_for_a_person(closed, change):
    # The chain and the recorder's own signature are right: only the person's is not.
    signed(closed)
    with RecordFile.open(closed) as record:
        real = record.entries()[-1].body
    with sqlite3.connect(closed) as db:
        db.execute("DELETE FROM entries WHERE seq = 6")
    db.close()
    with RecordFile.open(closed) as record:
        record.append({**real, **change}, at(20))
    assert verify(closed).trusted_up_to == 5
    assert not verify(closed).ok
    assert other_verifier.finds(closed)


def test_the_report_lists_signatures_and_does_not_call_a_name_one(closed):
    before = text_report(examine(closed))
    assert "Not signed" in before
    signed(closed)
    report = text_report(examine(closed))
    lines = report.split("SIGNATURES\n----------\n")[1].split("\n\n")[0]
    assert "inspector by Tamsin Orlo" in " ".join(lines.split())
    assert fingerprint(public_hex(ORLO)) in lines
    assert "Not signed" not in report
