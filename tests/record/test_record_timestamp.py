"""Time stamps against OpenSSL's own authority behind a local HTTP server."""

import base64
import datetime
import shutil
import subprocess
import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer

import other_verifier
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from record_samples import at, make_record

from voicewalk.errors import RecordError, VoicewalkError
from voicewalk.record.file import RecordFile
from voicewalk.record.timestamp import read_certificate, stamp, stamps
from voicewalk.record.verify import examine

CONFIG = """
[tsa]
default_tsa = own
[own]
serial = {folder}/serial
signer_digest = sha256
default_policy = 1.3.6.1.4.1.99999.1
digests = sha256, sha512
accuracy = secs:1
ess_cert_id_alg = sha256
"""
PEM = serialization.Encoding.PEM


class Authority:
    """Certificates of an invented authority, and OpenSSL answering for it."""

    def __init__(self, folder):
        self.folder = folder
        self.root = folder / "root.pem"
        root_key, key = (rsa.generate_private_key(65537, 2048) for _ in range(2))
        root = certificate("Root", root_key, "Root", root_key, ca=True)
        signer = certificate("Stamps", key, "Root", root_key, ca=False)
        self.root.write_bytes(root.public_bytes(PEM))
        (folder / "signer.pem").write_bytes(signer.public_bytes(PEM))
        form = serialization.PrivateFormat.PKCS8
        (folder / "key.pem").write_bytes(key.private_bytes(PEM, form, serialization.NoEncryption()))
        (folder / "serial").write_text("01\n")
        (folder / "tsa.cnf").write_text(CONFIG.format(folder=folder))

    def answer(self, query):
        (self.folder / "query").write_bytes(query)
        command = ["openssl", "ts", "-reply", "-config", "tsa.cnf", "-queryfile", "query"]
        command += ["-signer", "signer.pem", "-inkey", "key.pem", "-out", "answer"]
        subprocess.run(command, cwd=self.folder, check=True, capture_output=True)
        return (self.folder / "answer").read_bytes()


def certificate(name, key, issuer, issuer_key, *, ca):
    now = datetime.datetime.now(datetime.UTC)
    day = datetime.timedelta(days=1)
    builder = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]))
        .issuer_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, issuer)]))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - day)
        .not_valid_after(now + day)
        .add_extension(x509.BasicConstraints(ca=ca, path_length=None), critical=True)
    )
    if not ca:  # RFC 3161 section 2.3
        use = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING])
        builder = builder.add_extension(use, critical=True)
    return builder.sign(issuer_key, hashes.SHA256())


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    if shutil.which("openssl") is None:
        pytest.skip("the local authority is OpenSSL's: apt-get install openssl")
    return Authority(tmp_path_factory.mktemp("authority"))


@contextmanager
def serving(answer):
    """A server whose answer to any query is ``answer(query)``; its address."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self):
            assert self.headers["Content-Type"] == "application/timestamp-query"
            data = answer(self.rfile.read(int(self.headers["Content-Length"])))
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.end_headers()
            self.wfile.write(data)

        def log_message(self, *words):
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, args=(0.01,), daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()


@pytest.fixture
def stamped(path, authority):
    make_record(path)
    with serving(authority.answer) as url, RecordFile.open(path) as record:
        stamp(record, url, at(9))
    return path


def judged(path, root=None):
    examined = examine(path)
    assert examined.report.findings == ()
    certificate = None if root is None else read_certificate(root)
    return stamps(examined.report.root, examined.entries, certificate)


def test_a_stamp_of_a_server_is_kept_and_holds(stamped, authority):
    wrong, said = judged(stamped, authority.root)
    assert wrong == []
    assert said[0].startswith("entries 1 to 4 were there at 2")
    assert said[0].endswith("says the authority given")
    assert other_verifier.finds(stamped) == []


def test_without_the_authoritys_certificate_its_seal_is_said_to_be_unchecked(stamped):
    wrong, said = judged(stamped)
    assert wrong == []
    assert "its seal was not checked" in said[0]


def test_a_stamp_by_another_authority_is_found(stamped, tmp_path):
    (tmp_path / "other").mkdir()
    wrong, said = judged(stamped, Authority(tmp_path / "other").root)
    assert len(wrong) == 1
    assert said == []


def test_a_stamp_of_another_record_is_found(stamped, authority, tmp_path):
    other = make_record(tmp_path / "other.walk", entries=3)
    with RecordFile.open(stamped) as record:
        body = record.entries()[-1].body
    with RecordFile.open(other) as record:
        record.append(body, at(9))
    wrong, _ = judged(other, authority.root)
    assert "a stamp on something else" in wrong[0]


@pytest.mark.parametrize("response", ["", "AAAA", "no base64"])
def test_a_stamp_that_cannot_be_read_is_found(kept, response):
    with RecordFile.open(kept) as record:
        record.append({"kind": "time stamped", "server": "x", "response": response}, at(9))
    wrong, _ = judged(kept)
    assert len(wrong) == 1


def refused_by(path, url):
    with RecordFile.open(path) as record:
        with pytest.raises(RecordError) as error:
            stamp(record, url, at(9))
        assert len(record.entries()) == 4
    return str(error.value)


def test_a_server_that_answers_something_else_is_told(kept):
    with serving(lambda query: b"<html>") as url:
        assert "no time stamp" in refused_by(kept, url)


def test_a_server_that_repeats_an_old_answer_is_told(kept, authority):
    old = []

    def answer(query):
        old.append(authority.answer(query))
        return old[0]

    with serving(answer) as url, RecordFile.open(kept) as record:
        stamp(record, url, at(9))
        # The record has grown since: the old stamp is on another head.
        with pytest.raises(RecordError, match="something else"):
            stamp(record, url, at(10))


def test_no_server_is_told(kept):
    with serving(lambda query: b"") as url:
        pass
    assert "does not answer" in refused_by(kept, url)
    assert "no server" in refused_by(kept, "file:///etc/passwd")


@pytest.mark.parametrize("data", [b"", b"left main tyre"])
def test_what_is_no_certificate_is_told(tmp_path, data):
    (tmp_path / "root.pem").write_bytes(data)
    with pytest.raises(VoicewalkError, match="no certificate"):
        read_certificate(tmp_path / "root.pem")
    with pytest.raises(VoicewalkError, match="No such file"):
        read_certificate(tmp_path / "none.pem")


def test_the_answer_is_kept_as_it_came(stamped, authority):
    kept = examine(stamped).entries[-1].body["response"]
    assert base64.b64decode(kept) == (authority.folder / "answer").read_bytes()
