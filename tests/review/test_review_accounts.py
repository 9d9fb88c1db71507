"""The file of accounts, and the commands that write it."""

import json
import stat

import pytest
from typer.testing import CliRunner

from voicewalk.cli.main import app
from voicewalk.record.signing import Role
from voicewalk.review.accounts import (
    Account,
    AccountFault,
    folded,
    hashed,
    matches,
    read_accounts,
    write_accounts,
)

PASSWORD = "a long way round the wing"
RUN = CliRunner()


def add(file, *words, password=PASSWORD):
    given = f"{password}\n{password}\n"
    return RUN.invoke(app, ["account", "add", str(file), *words], input=given)


def test_an_account_is_added_to_a_file_of_ones_own(tmp_path):
    file = tmp_path / "accounts.json"
    done = add(file, "--name", "Iva  Denholm", "--role", "lead", "--key", "denholm.pem")
    assert done.exit_code == 0, done.output
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    account = read_accounts(file)[folded("iva denholm")]
    assert (account.name, account.role) == ("Iva Denholm", Role.LEAD)
    assert account.key.endswith("/denholm.pem")
    assert matches(account, PASSWORD)
    assert not matches(account, PASSWORD.upper())
    assert PASSWORD not in file.read_text()
    assert account.password.startswith("$argon2id$")


def test_adding_again_replaces_and_removing_removes(tmp_path):
    file = tmp_path / "accounts.json"
    add(file, "--name", "Iva Denholm", "--role", "lead")
    add(file, "--name", "Ivo Brandt", "--role", "second")
    add(file, "--name", "iva denholm", "--role", "inspector", password="another long password")
    accounts = read_accounts(file)
    assert {name: one.role for name, one in accounts.items()} == {
        "iva denholm": Role.INSPECTOR,
        "ivo brandt": Role.SECOND,
    }
    assert not matches(accounts["iva denholm"], PASSWORD)
    done = RUN.invoke(app, ["account", "remove", str(file), "--name", "Iva Denholm"])
    assert done.exit_code == 0
    assert list(read_accounts(file)) == ["ivo brandt"]


def test_who_has_no_account_is_not_removed(tmp_path):
    file = tmp_path / "accounts.json"
    write_accounts(file, [])
    done = RUN.invoke(app, ["account", "remove", str(file), "--name", "Nobody"])
    assert isinstance(done.exception, AccountFault)


def test_a_short_password_is_refused(tmp_path):
    done = add(tmp_path / "a.json", "--name", "Ivo", "--role", "lead", password="short")
    assert isinstance(done.exception, AccountFault)
    assert not (tmp_path / "a.json").exists()


@pytest.mark.parametrize("mode", [0o604, 0o640, 0o660])
def test_a_file_that_others_may_read_is_refused(tmp_path, mode):
    file = tmp_path / "accounts.json"
    write_accounts(file, [Account("Ivo", Role.LEAD, hashed(PASSWORD))])
    file.chmod(mode)
    with pytest.raises(AccountFault, match="others than its owner"):
        read_accounts(file)


@pytest.mark.parametrize(
    "text",
    [
        *("", "[]", "{}", '{"accounts": 1}', '{"accounts": [1]}', "\xff"),
        json.dumps({"accounts": [{"name": "a", "role": "pilot", "password": "x"}]}),
        json.dumps({"accounts": [{"name": 1, "role": "lead", "password": "x"}]}),
    ],
)
def test_a_file_of_something_else_is_refused(tmp_path, text):
    file = tmp_path / "accounts.json"
    file.write_text(text, encoding="latin-1")
    file.chmod(0o600)
    with pytest.raises(AccountFault, match="no file of accounts"):
        read_accounts(file)


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(AccountFault, match="No such file"):
        read_accounts(tmp_path / "missing.json")


@pytest.mark.parametrize("password", ["", "$argon2id$broken", "plain text"])
def test_a_hash_that_is_none_opens_nothing(password):
    assert not matches(Account("Ivo", Role.LEAD, password), "plain text")


def test_nobody_has_the_password_of_an_unknown_name():
    assert not matches(None, PASSWORD)
