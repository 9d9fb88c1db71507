"""verify with claims, sign, key, redact, recover, timestamp and the code to scan, as commands."""

import re
import sqlite3

import pytest
from record_samples import at, tone
from typer.testing import CliRunner

from voicewalk.cli.main import app
from voicewalk.errors import RecordError, VoicewalkError
from voicewalk.record.claims import by_head, head_noted
from voicewalk.record.code import head_code
from voicewalk.record.file import RecordFile
from voicewalk.record.keys import folder, recorder_key
from voicewalk.record.seal import fingerprint, public_hex
from voicewalk.record.verify import examine, verify

PASSPHRASE = "three green gauges"


def run(*words, typed=""):
    return CliRunner().invoke(app, [str(word) for word in words], input=typed)


@pytest.fixture
def key(tmp_path):
    path = tmp_path / "orlo.pem"
    done = run("key", "new", path, typed=f"{PASSPHRASE}\n{PASSPHRASE}\n")
    assert done.exit_code == 0
    assert PASSPHRASE not in done.output
    return path


def test_verify_tells_key_and_head(closed):
    done = run("verify", closed)
    report = verify(closed)
    assert done.exit_code == 0
    assert f"each signed by its recorder, key {fingerprint(report.key)}" in done.stdout
    assert f"head {report.head}" in done.stdout
    assert "not closed" not in done.stdout


def test_verify_tells_an_open_walk_and_ends_with_0(kept):
    done = run("verify", kept)
    assert done.exit_code == 0
    assert "the walk is not closed" in done.stdout


def test_verify_with_the_recorders_key(closed):
    for given in (public_hex(recorder_key()), folder() / "recorder.pem"):
        done = run("verify", closed, "--key", given)
        assert done.exit_code == 0
        assert "by the recorder with the key given" in done.stdout


def test_verify_with_another_key(closed):
    done = run("verify", closed, "--key", "ab" * 32)
    assert done.exit_code == 1
    assert "another recorder" in done.stderr


def test_verify_with_a_head(closed):
    head = verify(closed).head
    with RecordFile.open(closed) as record:
        record.append({"kind": "redacted", "entry": 1, "clip": "", "reason": "test"}, at(20))
    for given in (head, head.upper(), head[:16]):
        done = run("verify", closed, "--head", given)
        assert done.exit_code == 0
        assert "the head given stood after entry 5" in done.stdout
    done = run("verify", closed, "--head", "ab" * 32)
    assert done.exit_code == 1
    assert "never stood in this record" in done.stderr


@pytest.mark.parametrize(
    "words", [("--key", "none.pem"), ("--head", "xyz"), ("--head", "ab" * 7), ("--nonsense",)]
)
def test_verify_given_wrongly_ends_with_2(closed, words):
    assert run("verify", closed, *words).exit_code == 2


def test_verify_of_nothing_with_claims_is_a_failure(tmp_path):
    done = run("verify", tmp_path / "none.walk", "--head", "ab" * 32, "--key", "ab" * 32)
    assert done.exit_code == 1
    assert "no such file" in done.stderr


def test_every_head_on_the_way_is_found(closed):
    examined = examine(closed)
    with RecordFile.open(closed) as record:
        heads = [record.head()]
    assert by_head(examined.report, examined.entries, heads[0]).ok


def test_a_head_is_noted_with_blanks():
    assert head_noted(" ABCD 0123 abcd 0123 ") == "abcd0123abcd0123"
    with pytest.raises(ValueError, match="hexadecimal"):
        head_noted("abcd0123")


def test_a_key_of_ones_own_is_shown(key):
    done = run("key", "show", key, typed=f"{PASSPHRASE}\n")
    assert re.search(r"public key  [0-9a-f]{64}\nfingerprint (\w{4}-){3}\w{4}\n", done.output)


def test_the_recorders_key_is_shown():
    public = public_hex(recorder_key())
    assert run("key", "show").stdout == (
        f"public key  {public}\nfingerprint {fingerprint(public)}\n"
    )


def test_signing(closed, key):
    words = ("sign", closed, "--role", "lead", "--name", "Tamsin Orlo", "--key", key)
    done = run(*words, typed=f"{PASSPHRASE}\n")
    assert done.exit_code == 0
    assert "entry 6: signed as lead by Tamsin Orlo" in done.stdout
    assert f"head {verify(closed).head}" in done.stdout
    assert "entries 1 to 5 signed as lead by Tamsin Orlo" in run("show", closed).stdout


def test_signing_with_a_wrong_passphrase_signs_nothing(closed, key):
    words = ("sign", closed, "--role", "lead", "--name", "Tamsin Orlo", "--key", key)
    done = run(*words, typed="three red gauges\n")
    assert isinstance(done.exception, VoicewalkError)
    assert verify(closed).entries == 5


def test_redacting(closed):
    done = run("redact", closed, "--entry", 3, "--reason", "a bystander")
    assert done.exit_code == 0
    assert f"head {verify(closed).head}" in done.stdout
    verified = run("verify", closed)
    assert verified.exit_code == 0
    assert "entry 3: its sound was taken out by entry 6: a bystander" in verified.stdout


@pytest.mark.parametrize("words", [(), ("--entry", "3", "--older-than", "9")])
def test_redacting_what_is_not_clear_ends_with_2(closed, words):
    assert run("redact", closed, *words).exit_code == 2
    assert verify(closed).entries == 5


def test_recovering(closed):
    with sqlite3.connect(closed) as db:
        db.execute("UPDATE entries SET body = '{}' WHERE seq = 3")
    db.close()
    done = run("recover", closed)
    new = closed.with_name("one-recovered.walk")
    assert done.exit_code == 0
    assert f"{new}: recovered from a damaged record" in done.stdout
    assert "lost: 3" in done.stdout
    assert "lost: 3" in run("show", new).stdout


def test_recovering_nothing_is_told(tmp_path):
    assert isinstance(run("recover", tmp_path / "none.walk").exception, RecordError)


def test_the_head_as_a_code_to_scan(closed):
    report = verify(closed)
    done = run("show", closed, "--qr")
    assert done.exit_code == 0
    assert head_code("VW 012", 5, report.head).splitlines()[3] in done.stdout


def test_the_json_may_leave_the_sounds_out(closed):
    whole, without = (
        run("export", closed, "--to", "json", *more).stdout for more in ((), ("--without-sound",))
    )
    assert '"sounds": {}' in without
    assert tone(3).sha256 in without  # its hash stays in the entry
    assert len(without) < len(whole)


def test_a_stamp_is_asked_for_and_there_is_none(closed, tmp_path):
    root = tmp_path / "root.pem"
    root.write_bytes(b"")
    done = run("verify", closed, "--tsa-certificate", root)
    assert isinstance(done.exception, VoicewalkError)
