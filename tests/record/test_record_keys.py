import stat

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from voicewalk.record import keys
from voicewalk.record.keys import KeyFault, make_key, person_key, public_of, recorder_key
from voicewalk.record.seal import public_hex

PASSPHRASE = "three green gauges"


@pytest.fixture
def own(tmp_path, monkeypatch):
    """Where the recorder's key is made."""
    folder = tmp_path / "data" / "keys"
    monkeypatch.setenv("VOICEWALK_KEYS", str(folder))
    return folder / "recorder.pem"


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


def test_the_recorders_key_is_made_once_for_its_user_only(own):
    first = public_hex(recorder_key())
    assert (mode(own), mode(own.parent)) == (0o600, 0o700)
    assert [one.name for one in own.parent.iterdir()] == ["recorder.pem"]
    assert public_hex(recorder_key()) == first
    assert b"BEGIN PRIVATE KEY" in own.read_bytes()  # PKCS#8 (RFC 7468 section 10)


def test_without_a_folder_named_it_lies_in_the_users_data_folder(tmp_path, monkeypatch):
    # XDG Base Directory Specification: $XDG_DATA_HOME, else ~/.local/share.
    monkeypatch.delenv("VOICEWALK_KEYS")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "xdg"))
    assert keys.folder() == tmp_path / "xdg" / "voicewalk"
    monkeypatch.delenv("XDG_DATA_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert keys.folder() == tmp_path / ".local" / "share" / "voicewalk"


@pytest.mark.parametrize("rights", [0o640, 0o604, 0o620, 0o666])
def test_a_key_that_others_may_use_is_refused(own, rights):
    recorder_key()
    own.chmod(rights)
    with pytest.raises(KeyFault, match="others than its owner") as fault:
        recorder_key()
    assert "chmod 600" in fault.value.what_to_do


def other_kind():
    key = ec.generate_private_key(ec.SECP256R1())
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


@pytest.mark.parametrize("data", [b"", b"left main tyre", bytes(4000), other_kind()])
def test_what_is_no_such_key_is_refused_and_not_replaced(own, data):
    own.parent.mkdir(parents=True)
    own.write_bytes(data)
    own.chmod(0o600)
    with pytest.raises(KeyFault, match="no Ed25519 key"):
        recorder_key()
    assert own.read_bytes() == data


def test_a_recorders_key_under_a_passphrase_is_told(own):
    own.parent.mkdir(parents=True)
    make_key(own, PASSPHRASE)
    with pytest.raises(KeyFault, match="under a passphrase"):
        recorder_key()


def test_a_folder_that_cannot_be_made_is_told(tmp_path, monkeypatch):
    (tmp_path / "taken").touch()
    monkeypatch.setenv("VOICEWALK_KEYS", str(tmp_path / "taken" / "keys"))
    with pytest.raises(KeyFault, match="cannot be made") as fault:
        recorder_key()
    assert "VOICEWALK_KEYS" in fault.value.what_to_do


def test_a_persons_key_opens_with_its_passphrase_only(tmp_path):
    path = tmp_path / "orlo.pem"
    made = make_key(path, PASSPHRASE)
    assert mode(path) == 0o600
    assert public_hex(person_key(path, PASSPHRASE)) == public_hex(made)
    with pytest.raises(KeyFault, match="does not open it"):
        person_key(path, PASSPHRASE.upper())
    with pytest.raises(KeyFault, match="already"):
        make_key(path, PASSPHRASE)


def test_a_recorders_key_is_no_persons(own):
    recorder_key()
    with pytest.raises(KeyFault, match="under no passphrase"):
        person_key(own, PASSPHRASE)


def test_a_short_passphrase_is_refused(tmp_path):
    with pytest.raises(KeyFault, match="too short"):
        make_key(tmp_path / "orlo.pem", "seven77")
    assert list(tmp_path.iterdir()) == []


def test_a_public_key_is_read_from_hex_and_pem(own, tmp_path):
    key = recorder_key()
    public = tmp_path / "public.pem"
    public.write_bytes(
        key.public_key().public_bytes(
            serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo
        )
    )
    wanted = public_hex(key)
    assert [public_of(one) for one in (wanted, wanted.upper(), str(own), str(public))] == [
        wanted
    ] * 4


def test_a_key_that_cannot_be_read_as_public_is_told(tmp_path):
    locked, other = tmp_path / "orlo.pem", tmp_path / "other.pem"
    make_key(locked, PASSPHRASE)
    other.write_bytes(other_kind())
    with pytest.raises(KeyFault, match="under a passphrase"):
        public_of(str(locked))
    with pytest.raises(KeyFault, match="no Ed25519 key"):
        public_of(str(other))
    with pytest.raises(KeyFault, match="No such file"):
        public_of("00" * 31)


def test_two_walks_that_begin_at_once_get_one_key(own, monkeypatch):
    def made_meanwhile(path, data):
        first(path, data)
        raise FileExistsError

    first = keys._write_new
    monkeypatch.setattr(keys, "_write_new", made_meanwhile)
    key = recorder_key()
    assert public_hex(key) == public_hex(recorder_key())
    assert isinstance(key, Ed25519PrivateKey)
