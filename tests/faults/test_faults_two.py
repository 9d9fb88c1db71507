"""Two programs on one record: the second is refused, whichever way it comes to the file."""

from __future__ import annotations

import errno
import fcntl
import os
import subprocess
import sys

import pytest

from voicewalk.clock import now
from voicewalk.errors import RecordError
from voicewalk.record.file import RecordFile, RecordReader

OPEN = (
    "import sys; from pathlib import Path; from voicewalk.record.file import RecordFile;"
    " RecordFile.open(Path(sys.argv[1]))"
)
BUSY = "another walk is writing this record"


@pytest.fixture
def path(tmp_path):
    return tmp_path / "one.walk"


@pytest.fixture
def writing(path):
    with RecordFile.create(path, program="p", recorder="r", at=now()) as record:
        yield record


def refusal(path) -> str:
    """What another program says that wants to write the record."""
    opened = subprocess.run(
        [sys.executable, "-c", OPEN, path], capture_output=True, text=True, check=False
    )
    return opened.stderr


def test_another_program_is_refused(writing, path):
    assert BUSY in refusal(path)
    assert "What to do: End the other walk first" in refusal(path)


def test_a_symbolic_link_is_no_way_around(writing, path):
    link = path.with_name("link.walk")
    link.symlink_to(path)
    assert BUSY in refusal(link)


def test_a_hard_link_is_no_way_around(writing, path):
    link = path.with_name("hard.walk")
    os.link(path, link)
    with pytest.raises(RecordError, match="more than one name"):
        RecordFile.open(link)


def test_the_same_program_is_refused_too(writing, path):
    with pytest.raises(RecordError, match=BUSY):
        RecordFile.open(path)


def test_the_one_who_writes_does_not_hinder_readers(writing, path):
    assert writing.append({"kind": "remark"}, now()) == 1
    with RecordReader.open(path) as reader:
        assert len(reader.entries()) == 1


def test_when_the_first_has_ended_the_second_may_write(path, writing):
    writing.close()
    assert refusal(path) == ""


@pytest.mark.parametrize("code", [errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP])
def test_a_disk_without_locks_holds_no_record(path, monkeypatch, code):
    def no_lock(*_):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(fcntl, "flock", no_lock)
    with pytest.raises(RecordError, match="no locks") as error:
        RecordFile.create(path, program="p", recorder="r", at=now())
    assert "disk of this machine" in error.value.what_to_do
    assert not path.exists()
