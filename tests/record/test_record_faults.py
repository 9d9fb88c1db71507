"""Crashes, full disks, media that cannot be written: each a clear error, nothing lost."""

import errno
import multiprocessing
import os
import random
import resource
import shutil
import signal
import subprocess
from contextlib import contextmanager

import numpy as np
import pytest
from record_samples import at, item, make_record, tone

from voicewalk.errors import RecordError
from voicewalk.record.clip import encode_clip
from voicewalk.record.file import RecordFile, RecordReader
from voicewalk.record.verify import verify


def noise(samples=16_000):
    """A second of sound that no coder can make small."""
    whole = np.random.default_rng(1).uniform(-0.9, 0.9, samples)
    return encode_clip(whole.astype(np.float32))


# --- kill -9 -------------------------------------------------------------------------------


def append_without_end(path, told):
    """Append, close and go on for ever; tell each number when ``append`` has returned it."""
    number = 0
    while True:
        with RecordFile.open(path) as record:
            for _ in range(5):
                number += 1
                clip = tone(number, samples=4000)
                told.send(record.append(item(clip=clip.sha256), at(number), clip))


def killed_after(path, number, seconds):
    """Let a process append, kill it a moment after it told ``number``; the last one it told."""
    forked = multiprocessing.get_context("fork")
    told, tell = forked.Pipe(duplex=False)
    process = forked.Process(target=append_without_end, args=(path, tell), daemon=True)
    process.start()
    tell.close()
    last = 0
    while last < number:
        last = told.recv()
    process.join(seconds)
    os.kill(process.pid, signal.SIGKILL)
    process.join()
    try:
        while True:
            last = told.recv()
    except EOFError:
        return last


@pytest.mark.parametrize("moment", range(20))
def test_killed_at_any_moment_nothing_kept_is_lost(path, moment):
    chance = random.Random(moment)
    RecordFile.create(path, program="p", recorder="r", at=at(0)).close()
    last = killed_after(path, chance.randint(1, 12), chance.uniform(0, 0.02))

    report = verify(path)  # as the crash has left it
    assert report.findings == ()
    assert last <= report.entries <= last + 1

    with RecordFile.open(path) as record:  # no lock is left, and it goes on
        entries = record.entries()
        assert [entry.seq for entry in entries] == list(range(1, report.entries + 1))
        assert all(record.clip(entry.body["input"]["heard"]["clip"]) for entry in entries)
        assert record.append({"kind": "interrupted"}, at(0)) == report.entries + 1
    assert verify(path).ok
    assert [one.name for one in path.parent.iterdir()] == [path.name]


# --- full disks ----------------------------------------------------------------------------


@contextmanager
def files_of_at_most(size):
    """Writing beyond ``size`` bytes in any file fails, as with a quota (EFBIG)."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        signal.signal(signal.SIGXFSZ, handler)


def append_until_refused(record, first):
    """Keep entries with sound until the disk takes no more; the number of the last one."""
    clip = noise()
    for number in range(first, first + 200):
        try:
            assert record.append(item(clip=clip.sha256), at(number), clip) == number
        except RecordError as error:
            return number - 1, error
        clip = encode_clip(np.roll(noise_samples(), number))
    raise AssertionError("the disk was never full")


def noise_samples():
    return np.random.default_rng(1).uniform(-0.9, 0.9, 16_000).astype(np.float32)


def must_be_whole_up_to(path, last):
    report = verify(path)
    assert report.findings == ()
    assert report.entries == last


def test_a_file_that_may_grow_no_more_loses_nothing_and_goes_on(record, path):
    with files_of_at_most(300_000):
        last, error = append_until_refused(record, 1)
        assert "What to do" in str(error)
        assert "space" in error.what_to_do
        must_be_whole_up_to(path, last)
        small = {"kind": "remark"}  # the walk tries again while the disk is still full
        for _ in range(3):
            with pytest.raises(RecordError):
                record.append({**small, "transcript": "x" * 400_000}, at(last + 1))
    assert record.append(item(clip=noise().sha256), at(last + 1), noise()) == last + 1
    record.close()
    must_be_whole_up_to(path, last + 1)


@pytest.fixture
def small_disk(tmp_path):
    """A disk of 512 KiB of its own."""
    if os.geteuid() != 0:
        pytest.skip("only root can mount a disk; the file size limit is tested for everybody")
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", str(folder)]
    done = subprocess.run(mount, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"no disk can be mounted here: {done.stderr.strip()}")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_loses_nothing_and_goes_on_when_space_is_made(small_disk):
    path = small_disk / "one.walk"
    ballast = small_disk / "ballast"
    ballast.write_bytes(bytes(100_000))
    with RecordFile.create(path, program="p", recorder="r", at=at(0)) as record:
        last, error = append_until_refused(record, 1)
        assert "the disk is full" in str(error)
        assert "Free some space" in error.what_to_do
        must_be_whole_up_to(path, last)
        ballast.unlink()
        assert record.append(item(clip=noise().sha256), at(last + 1), noise()) == last + 1
    must_be_whole_up_to(path, last + 1)


def test_a_record_cannot_be_begun_on_a_full_disk(small_disk):
    with pytest.raises(OSError) as full, (small_disk / "ballast").open("wb", 0) as file:
        while True:
            file.write(bytes(4096))
    assert full.value.errno == errno.ENOSPC
    with pytest.raises(RecordError, match=r"full|No space"):
        RecordFile.create(small_disk / "one.walk", program="p", recorder="r", at=at(0))
    assert [one.name for one in small_disk.iterdir()] == ["ballast"]


# --- media that cannot be written -----------------------------------------------------------


@pytest.fixture
def read_only(tmp_path):
    """Makes a folder read-only: for root by a mount, for others by its rights."""
    undo = []

    def make(folder):
        if os.geteuid() != 0:
            folder.chmod(0o555)
            undo.append(lambda: folder.chmod(0o755))
            return
        for options in ("bind", "remount,bind,ro"):
            mount = ["mount", "-o", options, str(folder), str(folder)]
            done = subprocess.run(mount, capture_output=True, text=True, check=False)
            if done.returncode:
                pytest.skip(f"nothing can be mounted here: {done.stderr.strip()}")
            if options == "bind":
                undo.append(lambda: subprocess.run(["umount", str(folder)], check=True))

    yield make
    for step in undo:
        step()


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "medium"
    made.mkdir()
    return made


def crashed(folder, left=("-wal",)):
    """A record as a crash leaves it, its last two entries only in the "-wal" beside it."""
    origin = folder.parent / "origin.walk"
    make_record(origin)
    with RecordFile.open(origin) as record, RecordReader.open(origin) as reader:
        reader._db.execute("BEGIN")  # a reader that stays keeps SQLite from moving them on
        reader.entries()
        for number in (5, 6):
            clip = tone(number)
            record.append(item(clip=clip.sha256), at(number), clip)
        path = folder / "one.walk"
        for beside in ("", *left):
            shutil.copyfile(f"{origin}{beside}", f"{path}{beside}")
    alone = folder.parent / "alone.walk"
    shutil.copyfile(path, alone)
    assert verify(alone).entries == 4  # the premise: they are not in the file itself
    return path


def test_a_closed_record_on_a_read_only_medium_is_read(folder, read_only):
    path = make_record(folder / "one.walk")
    read_only(folder)
    assert verify(path).ok
    with RecordReader.open(path) as reader:
        assert len(reader.entries()) == 4
        assert reader.clip(tone(2).sha256) == tone(2).flac


def test_a_record_that_a_crash_left_is_read_whole(folder):
    path = crashed(folder)
    assert verify(path).findings == ()
    with RecordReader.open(path) as reader:
        assert len(reader.entries()) == 6


@pytest.mark.parametrize("left", [("-wal",), ("-wal", "-shm", "-lock")], ids="+".join)
def test_a_record_that_a_crash_left_is_read_whole_on_a_read_only_medium(folder, read_only, left):
    path = crashed(folder, left)
    read_only(folder)
    assert verify(path).findings == ()
    with RecordReader.open(path) as reader:
        assert len(reader.entries()) == 6
        assert reader.clip(tone(6).sha256) == tone(6).flac


def test_going_on_after_a_crash_makes_it_one_file_again(folder):
    path = crashed(folder)
    with RecordFile.open(path) as record:
        assert record.append({"kind": "interrupted"}, at(0)) == 7
    assert [one.name for one in folder.iterdir()] == [path.name]
    must_be_whole_up_to(path, 7)


def test_a_read_only_medium_is_no_place_to_begin_or_go_on(folder, read_only):
    path = make_record(folder / "one.walk")
    read_only(folder)
    with pytest.raises(RecordError) as error:
        RecordFile.open(path)
    assert "rights" in error.value.what_to_do
    with pytest.raises(RecordError):
        RecordFile.create(folder / "two.walk", program="p", recorder="r", at=at(0))
    assert [one.name for one in folder.iterdir()] == [path.name]


def test_a_read_only_file_is_not_appended_to(folder, read_only):
    path = make_record(folder / "one.walk")
    if os.geteuid() == 0:
        read_only(path)  # rights do not bind root; a file mounted over itself does
    else:
        path.chmod(0o444)
    before = path.read_bytes()
    with pytest.raises(RecordError, match="cannot be written"):
        RecordFile.open(path)
    assert path.read_bytes() == before
    assert verify(path).ok
