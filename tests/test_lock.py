"""The lock serves every machine: complete, hashed, and without an address of any registry."""

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parent.parent
LOCK = (ROOT / "requirements.lock").read_text(encoding="utf-8")
PINNED = {
    canonicalize_name(name): version for name, version in re.findall(r"^(\S+)==(\S+)", LOCK, re.M)
}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
WANTED = [
    *PROJECT["project"]["dependencies"],
    *PROJECT["project"]["optional-dependencies"]["vosk"],
    *PROJECT["dependency-groups"]["dev"],
    *PROJECT["build-system"]["requires"],
]


@pytest.mark.parametrize("wanted", WANTED)
def test_what_the_project_needs_is_pinned(wanted):
    requirement = Requirement(wanted)
    pinned = PINNED.get(canonicalize_name(requirement.name))
    assert pinned is not None, "run script/lock"
    assert requirement.specifier.contains(pinned), "run script/lock"


def test_every_pin_has_hashes():
    without = [
        block.split()[0]
        for block in re.split(r"^(?=\w)", LOCK, flags=re.M)
        if "==" in block.split("\n")[0] and "--hash=sha256:" not in block
    ]
    assert without == []


def test_no_address_stands_in_the_lock():
    assert re.findall(r"\S*(?:://|file:|--index|--extra-index|--find-links)\S*", LOCK) == []
