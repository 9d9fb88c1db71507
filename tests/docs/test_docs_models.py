"""The tables of models_readme agree with the installed packages, the code and the lock."""

import hashlib
import re
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "models_readme" / "README.md").read_text(encoding="utf-8")
FILES = re.findall(r"^\| `(\w+)` \| `(\S+)` \| (\d+) \| `([0-9a-f]{64})` \|$", TEXT, re.M)
PINS = re.findall(r"^\| [^|]+ \| `([\w-]+)==([\w.]+)` \|", TEXT, re.M)


@pytest.mark.parametrize(("package", "file", "size", "sha256"), FILES)
def test_files_are_as_installed(package, file, size, sha256):
    folder = find_spec(package).submodule_search_locations[0]
    data = (Path(folder) / file).read_bytes()
    assert (len(data), hashlib.sha256(data).hexdigest()) == (int(size), sha256)


@pytest.mark.parametrize(("package", "pin"), PINS)
def test_pins_are_as_installed(package, pin):
    assert version(package) == pin


def test_every_file_that_the_code_checks_stands_in_the_table():
    code = "".join(path.read_text() for path in (ROOT / "voicewalk" / "hearing").glob("*.py"))
    checked = set(re.findall(r'"([0-9a-f]{64})"', code))
    assert checked
    assert checked <= {sha256 for *_, sha256 in FILES}
