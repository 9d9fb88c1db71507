import sqlite3
import subprocess
import sys

import pytest
import typer
from record_samples import CAUTION, at, item, started
from typer.testing import CliRunner

from voicewalk.card.load import card_path, load_card
from voicewalk.cli.export import export
from voicewalk.cli.show import show
from voicewalk.cli.verify import verify
from voicewalk.errors import RecordError
from voicewalk.record.file import RecordFile


@pytest.fixture
def run():
    app = typer.Typer()
    for command in (show, export, verify):
        app.command(command.__name__)(command)
    return lambda *words: CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def changed(kept):
    """A record with its third entry changed."""
    with sqlite3.connect(kept) as db:
        db.execute("UPDATE entries SET body = replace(body, 'left', 'port') WHERE seq = 3")
    db.close()
    return kept


def test_verify_of_a_whole_record(run, kept):
    done = run("verify", kept)
    assert done.exit_code == 0
    assert f"{kept}: whole, 4 entries" in done.stdout
    assert "head " in done.stdout
    assert done.stderr == ""


def test_verify_of_a_changed_record(run, changed):
    done = run("verify", changed)
    assert done.exit_code == 1
    assert "NOT WHOLE: rely on no entry after #2" in done.stderr
    assert "entry 3: its hash does not fit" in done.stderr


def test_verify_of_nothing(run, tmp_path):
    done = run("verify", tmp_path / "none.walk")
    assert done.exit_code == 1
    assert "there is no such file" in done.stderr


@pytest.mark.parametrize("words", [("verify",), ("show",), ("export",), ("export", "--to", "xml")])
def test_usage_errors_are_exit_code_2(run, words, kept):
    assert run(*words).exit_code == 2
    assert run(*words, kept, "--nonsense").exit_code == 2


@pytest.mark.parametrize("command", ["show", "export"])
def test_no_record_is_an_error_in_words(run, command, tmp_path):
    done = run(command, tmp_path / "none.walk")
    assert done.exit_code == 1
    assert isinstance(done.exception, RecordError)


def test_show_in_a_pipe_is_plain(run, kept):
    done = run("show", kept)
    assert done.exit_code == 0
    assert done.stdout.startswith("#1  06:00:00  started  VW 012")
    assert "\x1b" not in done.stdout


@pytest.mark.parametrize(
    "words", [("show",), ("export",), ("export", "--to", "json")], ids="-".join
)
def test_a_changed_record_is_shown_with_a_warning_and_exit_code_1(run, changed, words):
    done = run(words[0], changed, *words[1:])
    assert done.exit_code == 1
    assert "port main tyre" in done.stdout
    assert "NOT WHOLE" in done.stderr


@pytest.mark.parametrize("form", ["json", "csv", "text", "xlsx", "pdf"])
def test_export_to_the_terminal_and_to_a_file_are_the_same(run, kept, tmp_path, form):
    printed = run("export", kept, "--to", form)
    written = run("export", kept, "--to", form, "--out", tmp_path / "out")
    assert (printed.exit_code, written.exit_code, written.stdout) == (0, 0, "")
    assert printed.stdout_bytes == (tmp_path / "out").read_bytes()


def test_export_of_clips(run, kept, tmp_path):
    assert run("export", kept, "--clips", tmp_path / "sounds").exit_code == 0
    assert len(list((tmp_path / "sounds").iterdir())) == 3


def test_export_onto_the_record_itself_is_refused(run, kept):
    before = kept.read_bytes()
    done = run("export", kept, "--out", kept)
    assert isinstance(done.exception, RecordError)
    assert kept.read_bytes() == before


def test_open_items_are_named_by_the_card_in_the_record(run, path):
    card = load_card(card_path("vehicle-daily"))
    about = {"id": card.id, "title": card.title, "version": card.version, "digest": card.digest}
    about["vocabularies"] = card.vocabulary_digests
    first, second, *_ = card
    texts = card.texts.values()
    with RecordFile.create(path, program="p", recorder="r", at=at(0), texts=texts) as record:
        record.append({**started(items=len(card)), "card": about}, at(1))
        record.append({**item(), "item": first.id, "name": first.name}, at(2))
        record.append({"kind": "closed", "caution": CAUTION}, at(3))
    for command in ("show", "export"):
        done = run(command, path)
        assert done.exit_code == 0
        opened = [line for line in done.stdout.splitlines() if line.strip().endswith(second.name)]
        assert opened
        assert CAUTION in done.stdout


def test_the_commands_do_not_load_the_listeners():
    # A lead's machine shows a record at once, and needs none of the speech models for it.
    program = (
        "import sys, voicewalk.cli.show, voicewalk.cli.export, voicewalk.cli.verify;"
        "print([one for one in ('onnxruntime', 'sounddevice') if one in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"
