"""Feeds damaged records to all that reads them, guided by coverage (atheris, libFuzzer).

    fuzz_record.py SECONDS   in a folder of its own

An input is a recipe: which bytes of a whole record are changed, cut out, put in. Whatever comes
of it, each reader ends with an answer or a ``VoicewalkError``; anything else is a crash.
"""

from __future__ import annotations

import sys
from io import StringIO
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["voicewalk.record"]):
    from voicewalk.record.export import Form, exported
    from voicewalk.record.recovery import recover
    from voicewalk.record.screen import show_on
    from voicewalk.record.verify import examine, verify

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "faults"))
from fault_walk import Clock, walk
from rich.console import Console

from voicewalk.errors import VoicewalkError

RECORD, SAVED = Path("fuzzed.walk"), Path("saved.walk")


def whole() -> bytes:
    """The bytes of a record without faults."""
    path = Path("whole.walk")
    path.unlink(missing_ok=True)
    walk(path)
    return path.read_bytes()


def damaged(data: bytes) -> bytes:
    """The record after a recipe."""
    recipe = atheris.FuzzedDataProvider(data)
    content = bytearray(WHOLE)
    while recipe.remaining_bytes() and content:
        at = recipe.ConsumeIntInRange(0, len(content) - 1)
        length = recipe.ConsumeIntInRange(0, 64)
        match recipe.ConsumeIntInRange(0, 4):
            case 0:
                content[at : at + length] = recipe.ConsumeBytes(length)
            case 1:
                content[at] ^= 1 << recipe.ConsumeIntInRange(0, 7)
            case 2:
                del content[at : at + length]
            case 3:
                content[at:at] = recipe.ConsumeBytes(length)
            case 4:
                del content[at:]
    return bytes(content)


def try_one(data: bytes) -> None:
    """Every reader on one damaged record."""
    RECORD.write_bytes(damaged(data))
    SAVED.unlink(missing_ok=True)
    report = verify(RECORD)
    if not report.ok and not report.findings:
        raise AssertionError("not ok, and no word of why")
    try:
        examined = examine(RECORD)
        show_on(Console(file=StringIO()), examined)
        for form in set(Form) - {Form.PDF}:  # setting pages takes longer than all else together
            exported(RECORD, examined, form)
    except VoicewalkError as error:
        if not error.what_to_do:
            raise AssertionError("an error without what to do") from error
    try:
        recover(RECORD, SAVED, program="fuzz", recorder="fuzz", at=Clock()())
    except VoicewalkError as error:
        if not error.what_to_do:
            raise AssertionError("an error without what to do") from error


if __name__ == "__main__":
    WHOLE = whole()
    atheris.Setup(
        [sys.argv[0], f"-max_total_time={sys.argv[1]}", "-max_len=512", "-len_control=0"], try_one
    )
    atheris.Fuzz()
