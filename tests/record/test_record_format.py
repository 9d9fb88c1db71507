"""docs/record-format.md, held to the code."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import other_verifier
import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from voicewalk.record import database, seal
from voicewalk.record.verify import verify
from voicewalk.walk import codec, entries

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "record-format.md").read_text(encoding="utf-8")


def block(language):
    (found,) = re.findall(rf"^```{language}\n(.*?)^```$", PAGE, re.M | re.S)
    return found


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


def test_the_page_shows_what_is_signed():
    assert seal._HEAD_DOMAIN.rstrip(b"\0").decode() in PAGE
    assert seal._SIGNATURE_DOMAIN.rstrip(b"\0").decode() in PAGE


def test_the_other_verifier_is_short_and_shares_no_code():
    source = (DOCS / "verify_record.py").read_text(encoding="utf-8")
    assert len(source.splitlines()) <= 200
    imported = {
        name.partition(".")[0]
        for node in ast.walk(ast.parse(source))
        for name in (
            [one.name for one in node.names]
            if isinstance(node, ast.Import)
            else [node.module]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    }
    assert imported - set(sys.stdlib_module_names) == {"cryptography"}


WHOLE = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@settings(deadline=None)
@given(WHOLE)
def test_the_other_verifiers_json_is_the_rfc8785_librarys(value):
    assert other_verifier.program.jcs(value).encode() == rfc8785.dumps(value)


@pytest.mark.parametrize("value", [1.5, 2**53, b""], ids=repr)
def test_the_other_verifier_refuses_what_no_record_holds(value):
    with pytest.raises(ValueError, match="no record holds"):
        other_verifier.program.jcs([value])


@pytest.mark.parametrize("head", [(), ("now",)], ids=str)
def test_the_other_verifier_as_a_program(kept, head):
    report = verify(kept)
    words = [report.head for _ in head]
    command = [sys.executable, str(other_verifier.FILE), str(kept), *words]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[-2:] == [
        f"4 entries, recorder {report.key}",
        f"head {report.head}",
    ]


def test_the_other_verifier_as_a_program_on_what_is_no_record(tmp_path):
    (tmp_path / "no.walk").write_bytes(b"left main tyre")
    command = [sys.executable, str(other_verifier.FILE), str(tmp_path / "no.walk")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr.startswith("cannot be read")
