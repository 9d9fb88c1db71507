"""What the documents say is so: their commands are run, their paths and links exist."""

import os
import re
from pathlib import Path

import pytest
from shown import DOCUMENTS, ROOT, as_shown, shown_in

# Names that a document may give to a path that only exists after a command has run.
MADE_BY_COMMANDS = {".venv", "wheelhouse", "demo-out"}

LISTENING = ("voicewalk demo", "voicewalk walk", "voicewalk bench")


def name_of(document: Path) -> str:
    return str(document.relative_to(ROOT))


def runs_of(document: Path) -> list:
    return [s for s in shown_in(document.read_text("utf-8")) if s.command.startswith("voicewalk ")]


def with_marks(document: Path):
    """A walk by sound takes the speech models and its time."""
    listens = any(
        re.match(r"voicewalk (demo|walk|calibrate)\b", s.command) for s in runs_of(document)
    )
    marks = [pytest.mark.models, pytest.mark.slow] if listens else []
    return pytest.param(document, id=name_of(document), marks=marks)


@pytest.mark.parametrize("document", [with_marks(d) for d in DOCUMENTS if runs_of(d)])
def test_commands_print_what_is_shown(document, run):
    for shown in runs_of(document):
        printed = run(shown.command)
        assert "Traceback" not in printed
        assert as_shown(shown.output, printed), (
            f"{name_of(document)}:{shown.line}: $ {shown.command}\n"
            f"--- shown\n{shown.output}--- printed\n{printed}"
        )


def scripts_in(text: str) -> set[str]:
    return set(re.findall(r"(?<![\w/.])script/\w+\b(?!\.)", text))


def paths_in(text: str) -> set[str]:
    """Names in backquotes that look like a path of the repository."""
    quoted = set(re.findall(r"`([\w.-]+/[\w./-]*)`", text))
    tops = {path.name for path in ROOT.iterdir()}
    return {
        q for q in quoted if q.split("/")[0] in tops and q.split("/")[0] not in MADE_BY_COMMANDS
    }


def links_in(text: str) -> set[str]:
    targets = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", text)
    return {target for target in targets if "://" not in target}


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_scripts_named_can_be_run(document):
    missing = {s for s in scripts_in(document.read_text()) if not os.access(ROOT / s, os.X_OK)}
    assert missing == set()


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_paths_named_exist(document):
    assert {p for p in paths_in(document.read_text()) if not (ROOT / p).exists()} == set()


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_links_lead_somewhere(document):
    text = document.read_text()
    assert {t for t in links_in(text) if not (document.parent / t).exists()} == set()
