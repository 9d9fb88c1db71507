"""The rooms keep to their walls: who may import whom, what is pure, how long things may be.

The tables are the design. Whoever needs a new way between two rooms changes a table here, in
a commit that says why.
"""

import ast
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = "voicewalk"

EVERYBODY_MAY = ("errors", "settings", "private", "models", "__version__")

# room -> what it may import of ours, besides itself and the above
ROOMS = {
    "errors": (),
    "settings": (),
    "private": (),
    "models": (),
    "__main__": ("cli",),
    "clock": (),
    "card": (),
    "language": ("card",),
    # its judge asks more of a critical item; a word that no model knows is told with its place
    "hearing": ("language", "card.model", "card.said", "card.source"),
    # is a number said in digits, and which signs has an identity?
    "walk": ("card", "language.meaning", "language.numbers", "language.spelling"),
    "paper": (),
    "record": ("card", "walk", "clock", "paper"),  # a summary is printed
    "voice": ("walk.messages", "walk.prompts", "language"),
    "audio": (),
    "practice": ("card", "language", "hearing.heard"),
    "session": (
        "card",
        "language",
        "hearing",
        "walk",
        "record",
        "voice",
        "audio",
        "practice",
        "clock",
    ),
    "bench": ("card", "language", "hearing", "audio"),
    # the lead's pages: of records and their cards; a body is JSON as the walk has made it
    "review": ("record", "card", "clock", "walk.messages"),
    "cli": (
        "session",
        "audio.driver",  # at its end the program leaves drivers that hang behind
        "bench",
        "review",
        "record",
        "card",
        "language",
        "hearing",
        "practice",
        "clock",
        "paper",
    ),
}

# Rooms and modules without I/O, clocks or chance: what they may import of others.
PURE = (
    "card.model",
    "card.checks",
    "card.counts",
    "card.fault",
    "card.gas",
    "card.places",
    "card.readings",
    "card.rules",
    "card.sheet",
    "card.sides",
    "card.spoken",
    "language",
    "walk",
    "practice",
    "record.body",
    "record.canonical",
    "record.chain",
    "record.merkle",
    "record.plan",
    "record.seal",
    "record.sheet",
    "record.summary",
    "review.board",
    "review.needs",
    "review.views",
)
PURE_MAY = {
    "__future__",
    "abc",
    "base64",
    "bisect",
    "collections",
    "contextlib",
    "cryptography",
    "dataclasses",
    "datetime",
    "decimal",
    "enum",
    "fractions",
    "functools",
    "hashlib",
    "heapq",
    "html",
    "itertools",
    "json",
    "math",
    "operator",
    "re",
    "types",
    "typing",
    "unicodedata",
    "rapidfuzz",
    "rfc8785",
}
# Data enters a pure room only here; chance is handed in as a seeded generator.
EXCEPTIONS = {
    "language.scope": {"pathlib"},
    "language.vocabulary": {"pathlib"},
    "language.written": {"pydantic"},
    "language.draw": {"random"},
    "language.phrases": {"random"},
    "language.near": {"random"},
    "language.talk": {"pathlib"},
}
PURE_MAY_NOT_CALL = {"open", "print", "input"}

# Found on disk and never run: a model's carrier, and one that can fetch models or end the process.
NEVER_IMPORTED = {"moonshine_voice", "vosk"}
# GPL code: only in a program of its own, which shares nothing with this one.
GPL = {"espeakng_loader"}
GPL_PROGRAM = "voice.espeak_worker"
MAY_READ_CLOCKS = ("session", "cli")

MOST_MODULE_LINES = 600
MOST_FUNCTION_LINES = 60


@dataclass(frozen=True)
class Module:
    """One source file. ``name`` is without the package: "card.model", "card", "errors"."""

    name: str
    source: str

    @property
    def room(self) -> str:
        return self.name.partition(".")[0]

    @cached_property
    def tree(self) -> ast.Module:
        return ast.parse(self.source)

    def imported(self) -> Iterator[str]:
        """Full names of everything imported, at any depth of the code."""
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Import):
                yield from (alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{self.name}: relative import, line {node.lineno}"
                yield from (f"{node.module}.{alias.name}" for alias in node.names)

    def packages(self) -> set[str]:
        """Top-level names of everything imported."""
        return {name.partition(".")[0] for name in self.imported()}


def modules() -> Iterator[Module]:
    for path in sorted((ROOT / PACKAGE).rglob("*.py")):
        parts = path.relative_to(ROOT / PACKAGE).with_suffix("").parts
        name = ".".join(part for part in parts if part != "__init__")
        yield Module(name, path.read_text(encoding="utf-8"))


MODULES = [module for module in modules() if module.name]


def within(name: str, places: tuple[str, ...]) -> bool:
    """Whether a dotted name is one of the places or lies below one."""
    return any(name == place or name.startswith(f"{place}.") for place in places)


def strangers(module: Module) -> list[str]:
    """Imports of ours that the table of rooms does not allow."""
    allowed = (*ROOMS[module.room], *EVERYBODY_MAY, module.room)
    imported = (name.partition(".") for name in module.imported())
    ours = [rest for package, _, rest in imported if package == PACKAGE]
    return [name for name in ours if not within(name, allowed)]


def impurities(module: Module) -> list[str]:
    """Imports and calls in a pure module that touch the world."""
    may = PURE_MAY | EXCEPTIONS.get(module.name, set())
    foreign = module.packages() - {PACKAGE}
    calls = {
        node.func.id
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    return sorted(foreign - may) + sorted(calls & PURE_MAY_NOT_CALL)


def long_functions(module: Module) -> list[str]:
    return [
        f"{node.name}: {length} lines"
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (length := (node.end_lineno or 0) - node.lineno + 1) > MOST_FUNCTION_LINES
    ]


def faults(check: Callable[[Module], object], among: Iterable[Module] = MODULES) -> dict:
    """What a check finds, by module; all of it, so that one run shows everything."""
    return {module.name: found for module in among if (found := check(module))}


def test_every_room_and_every_pure_place_exists():
    assert {module.room for module in MODULES} == set(ROOMS)
    assert [place for place in PURE if not any(within(m.name, (place,)) for m in MODULES)] == []


def test_imports_keep_to_the_table_of_rooms():
    assert faults(strangers) == {}


def test_pure_rooms_touch_nothing_outside():
    assert faults(impurities, (m for m in MODULES if within(m.name, PURE))) == {}


def test_carriers_of_models_are_never_imported():
    assert faults(lambda m: NEVER_IMPORTED & m.packages()) == {}


def test_gpl_code_is_only_in_a_program_of_its_own():
    others = [module for module in MODULES if module.name != GPL_PROGRAM]
    (program,) = (module for module in MODULES if module.name == GPL_PROGRAM)
    assert faults(lambda m: GPL & m.packages(), others) == {}
    assert faults(lambda m: f"{PACKAGE}.{GPL_PROGRAM}" in set(m.imported()), others) == {}
    assert GPL & program.packages()
    assert PACKAGE not in program.packages()


def test_only_the_session_and_the_commands_read_the_clock():
    others = (module for module in MODULES if module.room not in MAY_READ_CLOCKS)
    assert faults(lambda m: f"{PACKAGE}.clock.now" in set(m.imported()), others) == {}


def test_modules_begin_with_what_they_do():
    assert faults(lambda m: m.source.strip() and not ast.get_docstring(m.tree)) == {}


def test_modules_are_short():
    assert faults(lambda m: max(0, len(m.source.splitlines()) - MOST_MODULE_LINES)) == {}


def test_functions_are_short():
    assert faults(long_functions) == {}


# The checks themselves, on sources that break one rule each.


@pytest.mark.parametrize(
    ("name", "source", "found"),
    [
        ("card.model", "from voicewalk.walk.machine import Walk", ["walk.machine.Walk"]),
        ("walk.rules", "from voicewalk.language.graph import x", ["language.graph.x"]),
        ("walk.rules", "from voicewalk.language.meaning import Act", []),
        ("errors", "import voicewalk.card", ["card"]),
        ("audio.frames", "def f():\n    from voicewalk.cli import main", ["cli.main"]),
        ("audio.frames", "from voicewalk.settings import AudioSettings", []),
        ("cardboard", "import voicewalk.card", ["card"]),
    ],
)
def test_strangers_are_found(name, source, found, monkeypatch):
    monkeypatch.setitem(ROOMS, "cardboard", ())
    assert strangers(Module(name, source)) == found


@pytest.mark.parametrize(
    ("name", "source", "found"),
    [
        ("walk.rules", "import time", ["time"]),
        ("walk.rules", "from pathlib import Path", ["pathlib"]),
        ("language.vocabulary", "from pathlib import Path", []),
        ("card.model", "def f():\n    return open('x')", ["open"]),
        ("record.chain", "import hashlib, sqlite3", ["sqlite3"]),
    ],
)
def test_impurities_are_found(name, source, found):
    assert impurities(Module(name, source)) == found


def test_a_long_function_is_found():
    body = "    pass\n" * MOST_FUNCTION_LINES
    assert long_functions(Module("walk.rules", f"def f():\n{body}")) == ["f: 61 lines"]
    assert long_functions(Module("walk.rules", f"def f():\n{body.removesuffix(chr(10))[9:]}")) == []
