"""docs/verify_record.py, loaded as a module: the verifier that shares no code with the program."""

import importlib.util
from pathlib import Path

FILE = Path(__file__).parents[2] / "docs" / "verify_record.py"
_spec = importlib.util.spec_from_file_location("verify_record", FILE)
program = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(program)


def finds(path, head=""):
    """What it finds wrong with a record, as it would print it; empty for nothing."""
    check = None
    try:
        check = program.Check(path, head)
        check.run()
    except Exception as error:  # noqa: BLE001 - as the program itself does
        return [*(check.wrong if check else ()), repr(error)]
    return check.wrong
