"""Damaged and made-up files never crash what reads records: an answer or an error in words."""

from io import StringIO

import pytest
from fault_walk import Clock, walk
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rich.console import Console

from voicewalk.errors import VoicewalkError
from voicewalk.record.export import Form, exported
from voicewalk.record.recovery import recover
from voicewalk.record.screen import show_on
from voicewalk.record.verify import examine, verify

SETTINGS = settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
CHANGES = st.lists(
    st.tuples(
        st.floats(0, 1, exclude_max=True),  # where, as a part of the file
        st.sampled_from(["change", "cut", "insert", "truncate"]),
        st.binary(min_size=1, max_size=64),
    ),
    min_size=1,
    max_size=4,
)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    path = tmp_path_factory.mktemp("whole") / "one.walk"
    walk(path)
    assert verify(path).ok
    return path.read_bytes()


def changed(content: bytes, changes) -> bytes:
    new = bytearray(content)
    for where, how, data in changes:
        at = int(where * len(new))
        match how:
            case "change":
                new[at : at + len(data)] = data
            case "cut":
                del new[at : at + len(data)]
            case "insert":
                new[at:at] = data
            case "truncate":
                del new[at:]
    return bytes(new)


def read_by_all(path) -> None:
    """Every reader, on any file."""
    report = verify(path)
    assert report.ok or all(report.findings)
    assert report.ok or report.findings
    saved = path.with_name("saved.walk")
    saved.unlink(missing_ok=True)
    for read in (
        lambda: show_on(Console(file=StringIO()), examine(path)),
        *(lambda form=form: exported(path, examine(path), form) for form in Form),
        lambda: recover(path, saved, program="p", recorder="r", at=Clock()()),
    ):
        try:
            read()
        except VoicewalkError as error:
            assert error.what_to_do


@SETTINGS
@given(changes=CHANGES)
def test_a_damaged_record_is_told_in_words(whole, tmp_path, changes):
    path = tmp_path / "one.walk"
    path.write_bytes(changed(whole, changes))
    read_by_all(path)


@SETTINGS
@given(content=st.binary(max_size=5000), head=st.integers(0, 200))
def test_any_file_is_told_in_words(whole, tmp_path, content, head):
    path = tmp_path / "one.walk"
    path.write_bytes(whole[:head] + content)
    assert not verify(path).ok
    read_by_all(path)
