"""The program's own help: every command has one, and documents name no other command."""

import re

import pytest
from shown import DOCUMENTS


def commands_in(text: str) -> set[str]:
    """Commands listed in the program's help."""
    _, _, listed = text.partition("Commands")
    return set(re.findall(r"^\W*([a-z][a-z-]*) {2,}\w", listed, re.M))


@pytest.fixture
def commands(run) -> set[str]:
    found = commands_in(run("voicewalk --help"))
    assert found, "the help lists no command"
    return found


def test_every_command_explains_itself(run, commands):
    for command in commands:
        explained = run(f"voicewalk {command} --help && echo done")
        assert f"Usage: voicewalk {command}" in explained
        assert explained.endswith("done\n")


def test_documents_name_only_commands_that_exist(commands):
    text = "".join(document.read_text("utf-8") for document in DOCUMENTS)
    named = set(re.findall(r"(?:`|^\$ |\n)voicewalk ([a-z][a-z-]*)", text))
    assert named
    assert named <= commands


def test_documents_name_every_command(commands):
    text = "".join(document.read_text("utf-8") for document in DOCUMENTS)
    assert {command for command in commands if f"voicewalk {command}" not in text} == set()
