"""What lies in a folder: read once, again when a file changes, and never outside of it."""

from concurrent.futures import Executor, Future

import pytest
from review_desk import AtOnce
from review_walks import append

from voicewalk.errors import RecordError
from voicewalk.review.catalogue import Catalogue
from voicewalk.review.glance import State


class Counting(AtOnce):
    """Remembers what it was given."""

    def __init__(self):
        self.given = []

    def submit(self, fn, /, *args, **kwargs):
        self.given.append(args[0].stem)
        return super().submit(fn, *args, **kwargs)


class Later(Executor):
    """Has not begun yet."""

    def submit(self, fn, /, *args, **kwargs):
        return Future()


class Broken(Executor):
    """Its process has died."""

    def submit(self, fn, /, *args, **kwargs):
        future = Future()
        future.set_exception(RuntimeError("the process is gone"))
        return future


def names(catalogue):
    return sorted(glance.name for glance in catalogue.glances())


def test_a_folder_is_read_once(folder):
    reader = Counting()
    catalogue = Catalogue(folder, reader)
    for _ in range(3):
        catalogue.scan()
    assert sorted(reader.given) == names(catalogue) == ["found", "good", "left"]


def test_a_record_that_has_grown_is_read_again(folder):
    reader = Counting()
    catalogue = Catalogue(folder, reader)
    catalogue.scan()
    before = catalogue.changes
    append(folder / "good.walk", {"kind": "device lost", "reason": "unplugged", "input": {}})
    catalogue.scan()
    assert reader.given[3:] == ["good"]
    assert catalogue.changes == before + 1
    assert catalogue.known("good").needs


def test_a_record_that_is_gone_is_forgotten(folder):
    catalogue = Catalogue(folder, AtOnce())
    catalogue.scan()
    (folder / "good.walk").unlink()
    catalogue.scan()
    assert names(catalogue) == ["found", "left"]
    assert catalogue.path("good") is None


def test_what_is_not_read_yet_is_counted_and_asked_for_once(folder):
    catalogue = Catalogue(folder, Later())
    for _ in range(2):
        catalogue.scan()
    assert (catalogue.waiting, catalogue.glances()) == (3, [])


def test_a_reader_that_breaks_down_is_told_and_not_tried_for_ever(folder):
    catalogue = Catalogue(folder, Broken())
    catalogue.scan()
    assert {glance.state for glance in catalogue.glances()} == {State.UNREADABLE}
    assert catalogue.waiting == 0


@pytest.mark.parametrize(
    "name",
    ["../outside", "..", "", "/etc/passwd", "inner/deep", "link", "good.walk", "good\0", "%2e%2e"],
)
def test_no_name_leads_out_of_the_folder(folder, name):
    (folder.parent / "outside.walk").write_bytes((folder / "good.walk").read_bytes())
    (folder / "inner").mkdir()
    (folder / "inner" / "deep.walk").write_bytes(b"")
    (folder / "link.walk").symlink_to(folder.parent / "outside.walk")
    (folder / "folder.walk").mkdir()
    catalogue = Catalogue(folder, AtOnce())
    assert catalogue.path(name) is None
    catalogue.scan()
    assert names(catalogue) == ["found", "good", "left"]


def test_a_folder_that_is_none_is_refused(tmp_path):
    with pytest.raises(RecordError, match="no such folder"):
        Catalogue(tmp_path / "missing", AtOnce())
