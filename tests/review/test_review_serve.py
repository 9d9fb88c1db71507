"""How the pages are served: to this machine, or to others with TLS and accounts, or not at all."""

from __future__ import annotations

import datetime
import http.client
import ipaddress
import os
import re
import signal
import ssl
import subprocess
import sys
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from voicewalk.record.signing import Role
from voicewalk.review.accounts import Account, AccountFault, hashed, write_accounts
from voicewalk.review.serve import (
    ServeFault,
    Serving,
    allowed,
    certificate_names,
    is_here,
    listening,
    origins,
)

PASSWORD = "a long way round the wing"
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def tls(tmp_path_factory):
    """A certificate for this machine, and its key."""
    folder = tmp_path_factory.mktemp("tls")
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "apron")])
    now = datetime.datetime.now(datetime.UTC)
    names = [
        x509.DNSName("localhost"),
        x509.IPAddress(ipaddress.ip_address("127.0.0.1")),
        x509.IPAddress(ipaddress.ip_address("::1")),
    ]
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .sign(key, hashes.SHA256())
    )
    (folder / "cert.pem").write_bytes(made.public_bytes(serialization.Encoding.PEM))
    (folder / "key.pem").write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return folder / "cert.pem", folder / "key.pem"


@pytest.fixture
def accounts(tmp_path):
    file = tmp_path / "accounts.json"
    write_accounts(file, [Account("Iva Denholm", Role.LEAD, hashed(PASSWORD))])
    return file


@pytest.mark.parametrize(
    ("address", "here"),
    [
        *(("127.0.0.1", True), ("127.8.8.8", True), ("::1", True)),
        *(
            ("0.0.0.0", False),
            ("192.0.2.7", False),
            ("::", False),
            ("localhost", False),
            ("", False),
        ),
    ],
)
def test_only_loopback_is_here(address, here):
    assert is_here(address) is here


@pytest.mark.parametrize("address", ["0.0.0.0", "192.0.2.7", "::"])
@pytest.mark.parametrize("lacks", ["all", "accounts", "tls"])
def test_others_need_tls_and_accounts(tmp_path, tls, accounts, address, lacks):
    certificate, key = tls if lacks == "accounts" else (None, None)
    asked = Serving(
        tmp_path,
        address,
        accounts=accounts if lacks == "tls" else None,
        certificate=certificate,
        private_key=key,
    )
    with pytest.raises(ServeFault, match="reached by others"):
        allowed(asked)


def test_with_both_they_may_come(tmp_path, tls, accounts):
    asked = Serving(tmp_path, "0.0.0.0", 8700, None, accounts, *tls)
    assert list(allowed(asked)) == ["iva denholm"]


def test_a_certificate_without_its_key_is_refused(tmp_path, tls):
    with pytest.raises(ServeFault, match="goes with its private key"):
        allowed(Serving(tmp_path, certificate=tls[0]))


def test_a_file_of_no_accounts_is_refused(tmp_path):
    write_accounts(tmp_path / "a.json", [])
    with pytest.raises(ServeFault, match="nobody"):
        allowed(Serving(tmp_path, accounts=tmp_path / "a.json"))
    with pytest.raises(AccountFault):
        allowed(Serving(tmp_path, accounts=tmp_path / "missing.json"))


def test_the_pages_answer_to_the_names_of_the_certificate(tmp_path, tls, accounts):
    assert certificate_names(tls[0]) == ["localhost", "127.0.0.1", "::1"]
    asked = Serving(tmp_path, "0.0.0.0", 443, None, accounts, *tls)
    assert "https://localhost" in origins(asked, 443)
    assert "https://[::1]:443" in origins(asked, 443)
    assert origins(Serving(tmp_path), 8700) == ["http://127.0.0.1:8700", "http://localhost:8700"]


def test_a_certificate_that_is_none_is_told(tmp_path):
    (tmp_path / "cert.pem").write_text("nothing")
    for path in (tmp_path / "cert.pem", tmp_path / "missing.pem"):
        with pytest.raises(ServeFault, match="no certificate with names"):
            certificate_names(path)


def test_an_address_that_is_taken_is_told(tmp_path):
    with listening(Serving(tmp_path, port=0)) as first:
        port = first.getsockname()[1]
        with pytest.raises(ServeFault, match=f"port {port}"):
            listening(Serving(tmp_path, port=port))


@pytest.fixture
def served(folder):
    """Runs the command; gives the process and its first lines."""
    running = []

    def run(*words, lines=2):
        process = subprocess.Popen(
            [sys.executable, "-m", "voicewalk.cli.main", "review", folder, "--port", "0", *words],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"},
        )
        running.append(process)
        return process, [process.stdout.readline() for _ in range(lines)]

    yield run
    for process in running:
        process.kill()
        process.communicate()


def test_the_command_serves_this_machine_by_a_link_that_works_once(served):
    process, (where, link) = served("--lead", "Iva Denholm")
    host = re.search(r"http://(127\.0\.0\.1:\d+)/", where)[1]
    path = re.search(r"(/door\?link=\S+)", link)[1]
    browser = http.client.HTTPConnection(host, timeout=20)
    browser.request("GET", path)
    answer = browser.getresponse()
    answer.read()
    cookie = answer.getheader("set-cookie").partition(";")[0]
    browser.request("GET", "/", headers={"Cookie": cookie})
    answer = browser.getresponse()
    assert (answer.status, b"Iva Denholm, lead" in answer.read()) == (200, True)
    assert answer.getheader("server") is None
    browser.request("GET", "/")
    assert browser.getresponse().status == 303
    assert "next link" in process.stdout.readline()
    process.send_signal(signal.SIGINT)
    process.wait(20)
    assert "Traceback" not in process.stderr.read()


def test_the_command_serves_others_by_tls_and_password(served, tls, accounts):
    words = ("--certificate", tls[0], "--private-key", tls[1], "--accounts", accounts)
    _, (where,) = served("--address", "127.0.0.1", *words, lines=1)
    host = re.search(r"https://localhost:(\d+)/", where)
    context = ssl.create_default_context(cafile=str(tls[0]))
    browser = http.client.HTTPSConnection("localhost", int(host[1]), timeout=20, context=context)
    form = f"name=Iva+Denholm&password={PASSWORD.replace(' ', '+')}"
    headers = {
        "Origin": f"https://localhost:{host[1]}",
        "Content-Type": "application/x-www-form-urlencoded",
    }
    browser.request("POST", "/in", form, headers)
    answer = browser.getresponse()
    answer.read()
    assert answer.status == 303
    assert answer.getheader("set-cookie").startswith("__Host-voicewalk=")


@pytest.mark.parametrize(
    ("words", "wrong"),
    [(["--address", "0.0.0.0"], "reached by others"), (["--accounts", "missing"], "No such file")],
)
def test_the_command_refuses_what_is_not_safe(folder, words, wrong):
    done = subprocess.run(
        [sys.executable, "-m", "voicewalk.cli.main", "review", folder, *words],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert done.returncode == 1
    assert wrong in done.stderr
