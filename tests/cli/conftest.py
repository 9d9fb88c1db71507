"""Programs that a test has started end with it."""

from collections.abc import Callable, Iterator

import pytest
from cli_program import started


@pytest.fixture
def start() -> Iterator[Callable]:
    """Starts the program as ``cli_program.started`` does."""
    processes = []

    def begin(*arguments, cwd):
        processes.append(started(*arguments, cwd=cwd))
        return processes[-1]

    yield begin
    for process in processes:
        process.kill()
        process.wait()
