"""What the program makes is its owner's alone, whatever the umask: mode 0600, folders 0700."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from voicewalk import private
from voicewalk.clock import Instant
from voicewalk.record import keys
from voicewalk.record.clip import encode_clip
from voicewalk.record.export import Form, exported, write_clips, write_new
from voicewalk.record.file import RecordFile, RecordReader
from voicewalk.record.keys import recorder_key
from voicewalk.record.relistened import Relistening, Writer
from voicewalk.record.verify import examine

ROOT = Path(__file__).parent.parent
AT = Instant("2031-03-02T08:00:00.000Z", 0)


@pytest.fixture(params=[0o000, 0o022, 0o077, 0o277], ids=oct)
def umask(request):
    before = os.umask(request.param)
    yield request.param
    os.umask(before)


def open_to_others(folder: Path) -> dict[str, str]:
    """What lies below a folder and has not exactly the rights it should."""
    found = {}
    for path in folder.rglob("*"):
        mode = stat.S_IMODE(path.stat().st_mode)
        if mode != (0o700 if path.is_dir() else 0o600):
            found[str(path.relative_to(folder))] = oct(mode)
    return found


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


@pytest.mark.usefixtures("umask")
def test_a_record_and_what_lies_beside_it(tmp_path):
    path = tmp_path / "a.walk"
    with RecordFile.create(path, program="voicewalk 0", recorder="post 1", at=AT) as record:
        assert "a.walk-lock" in names(tmp_path)
        clip = encode_clip(np.zeros(160, np.float32), start=0)
        with RecordReader.open(path):  # the "-wal" and "-shm" stay while somebody reads
            record.append({"kind": "started", "input": {"heard": {"clip": clip.sha256}}}, AT, clip)
            assert {"a.walk-wal", "a.walk-shm"} <= names(tmp_path)
            assert open_to_others(tmp_path) == {}
    with RecordFile.open(path) as record:
        record.append({"kind": "closed"}, AT)
        assert open_to_others(tmp_path) == {}
    assert names(tmp_path) == {"a.walk"}
    assert open_to_others(tmp_path) == {}


@pytest.mark.usefixtures("umask")
def test_a_journal_has_the_rights_of_its_record(tmp_path):
    """As SQLite does it: the record is not in WAL mode while it is made."""
    path = tmp_path / "a.walk"
    private.make_file(path)
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE one (two)")
        db.execute("INSERT INTO one VALUES (3)")
        assert names(tmp_path) == {"a.walk", "a.walk-journal"}
        assert open_to_others(tmp_path) == {}
    db.close()


@pytest.mark.usefixtures("umask")
@pytest.mark.parametrize("form", Form)
def test_exports(form, tmp_path):
    path = tmp_path / "a.walk"
    clip = encode_clip(np.zeros(160, np.float32), start=0)
    with RecordFile.create(path, program="voicewalk 0", recorder="post 1", at=AT) as record:
        record.append({"kind": "started", "input": {"heard": {"clip": clip.sha256}}}, AT, clip)
    examined = examine(path)
    write_new(tmp_path / "out", exported(path, examined, form))
    write_clips(path, examined, tmp_path / "far" / "clips")
    assert {"out", "far"} <= names(tmp_path)
    assert open_to_others(tmp_path) == {}


@pytest.mark.usefixtures("umask")
def test_what_was_heard_again(tmp_path):
    path = tmp_path / "a.walk"
    for _ in range(2):  # anew, over the first
        Writer(path, "root", Relistening({}, ()))
        assert names(tmp_path) == {"a.walk.relistened.jsonl"}
        assert open_to_others(tmp_path) == {}


@pytest.mark.usefixtures("umask")
def test_the_recorders_key_and_every_folder_above_it(tmp_path, monkeypatch):
    monkeypatch.setenv(keys.FOLDER_VARIABLE, str(tmp_path / "far" / "off" / "keys"))
    recorder_key()
    assert open_to_others(tmp_path) == {}
    assert (tmp_path / "far" / "off" / "keys" / keys.FILE).is_file()


def test_what_is_there_keeps_its_rights(tmp_path):
    """A record or a folder that was shared stays shared."""
    path, shared = tmp_path / "a.walk", tmp_path / "shared"
    RecordFile.create(path, program="voicewalk 0", recorder="post 1", at=AT).close()
    path.chmod(0o640)
    shared.mkdir()
    shared.chmod(0o750)
    with RecordFile.open(path) as record:
        record.append({"kind": "started"}, AT)
    private.make_folder(shared)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert stat.S_IMODE(shared.stat().st_mode) == 0o750


def test_a_file_in_the_way_is_told(tmp_path):
    (tmp_path / "a").touch()
    with pytest.raises(FileExistsError):
        private.make_file(tmp_path / "a")
    with pytest.raises(FileExistsError):
        private.make_folder(tmp_path / "a")


def test_the_program_itself_lets_no_library_make_open_files(tmp_path):
    """Whatever writes in it: the umask is closed before any command runs."""
    code = (
        "from voicewalk.cli import main\n"
        "main.app = lambda: open('made', 'w').close()\n"
        "main.main()\n"
    )
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
    subprocess.run([sys.executable, "-c", code], cwd=tmp_path, env=surroundings, check=True)
    assert open_to_others(tmp_path) == {}
