"""Commands and their output as documents show them, in fenced ``console`` blocks.

A line that begins with "$ " is a command; what follows, up to the next one, is what it prints.
In the output ``...`` stands for anything: alone on a line, for any number of lines; within a
line, for the rest of a word or more.
"""

import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
DOCUMENTS = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    ROOT / "models_readme" / "README.md",
    *sorted((ROOT / "docs").rglob("*.md")),
]

_BLOCK = re.compile(r"^```console\n(.*?)^```$", re.M | re.S)
_ANYTHING = "..."


@dataclass(frozen=True)
class Shown:
    """One command with the output shown for it; ``line`` is its place in the document."""

    line: int
    command: str
    output: str


def shown_in(text: str) -> list[Shown]:
    """Every command of a document's text, in order."""
    found: list[Shown] = []
    for block in _BLOCK.finditer(text):
        line = text.count("\n", 0, block.start(1)) + 1
        for part in re.split(r"^(?=\$ )", block[1], flags=re.M):
            if part.startswith("$ "):
                command, _, output = part.removeprefix("$ ").partition("\n")
                found.append(Shown(line, command, output))
            line += part.count("\n")
    return found


def as_shown(expected: str, actual: str) -> bool:
    """Whether a command printed what the document shows; blanks at line ends do not count."""
    pattern = ""
    for line in _lines(expected):
        if line.strip() == _ANYTHING:
            pattern += r"(?:.*\n)*"
        else:
            pattern += ".*".join(re.escape(piece) for piece in line.split(_ANYTHING)) + r"\n"
    return re.fullmatch(pattern, "".join(f"{line}\n" for line in _lines(actual))) is not None


def _lines(text: str) -> list[str]:
    return [line.rstrip() for line in text.rstrip().splitlines()]
