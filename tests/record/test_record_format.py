"""docs/record-format.md, held to the code."""

import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from record_samples import tone

from voicewalk.record import database
from voicewalk.record.verify import verify
from voicewalk.walk import codec, entries

PAGE = (Path(__file__).parents[2] / "docs" / "record-format.md").read_text(encoding="utf-8")


def block(language):
    (found,) = re.findall(rf"^```{language}\n(.*?)^```$", PAGE, re.M | re.S)
    return found


def check(tmp_path, record):
    """Run the page's own program on a record."""
    program = tmp_path / "check.py"
    program.write_text(block("python"), encoding="utf-8")
    return subprocess.run(
        [sys.executable, str(program), str(record)], capture_output=True, text=True, check=False
    )


def test_tables_are_as_the_page_shows_them():
    assert block("sql").splitlines() == list(database.SCHEMA.values())


def test_header_is_as_the_page_shows_it():
    assert f"| {database.FORMAT}, the version of this format |" in PAGE
    assert f"| `{database.APPLICATION_ID.to_bytes(4, 'big').decode()}` |" in PAGE


def test_the_page_names_every_kind_of_entry():
    kinds = {
        one.kind: one for one in vars(entries).values() if isinstance(getattr(one, "kind", 0), str)
    }
    assert len(kinds) > 10
    rows = dict(re.findall(r"^\| `([a-z ]+)` \| (.*) \|$", PAGE, re.M))
    assert [kind for kind in kinds if kind not in rows] == []


def test_the_page_names_every_type_of_input():
    assert [name for name in codec._TYPES if f"`{name}`" not in PAGE] == []


def test_the_pages_program_finds_a_record_whole(kept, tmp_path):
    done = check(tmp_path, kept)
    assert done.stderr == ""
    assert done.stdout == f"4 entries, head {verify(kept).head}\n"


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE entries SET body = replace(body, 'left', 'port') WHERE seq = 3", "entry 3"),
        ("UPDATE entries SET run = 2 WHERE seq = 2", "entry 2"),
        ("DELETE FROM entries WHERE seq = 2", "entry 2"),
        ("UPDATE meta SET recorder = ''", "entry 1"),
        (f"DELETE FROM clips WHERE sha256 = '{tone(4).sha256}'", "sound of entry 4"),
    ],
)
def test_the_pages_program_finds_changes(kept, tmp_path, statement, words):
    with sqlite3.connect(kept) as db:
        db.execute(statement)
    db.close()
    done = check(tmp_path, kept)
    assert done.returncode == 1
    assert words in done.stderr
