import pytest
from record_samples import at, make_record

from voicewalk.record.file import RecordFile


@pytest.fixture
def path(tmp_path):
    """Where a record may be made."""
    return tmp_path / "one.walk"


@pytest.fixture
def record(path):
    """A new record, open for appending."""
    with RecordFile.create(path, program="voicewalk 0", recorder="post 1", at=at(0)) as file:
        yield file


@pytest.fixture
def kept(path):
    """A closed record with four entries, three of them with sound."""
    return make_record(path)


@pytest.fixture
def closed(path):
    """A record of five entries, the last of which closes it."""
    make_record(path)
    with RecordFile.open(path) as record:
        record.append({"kind": "closed"}, at(9))
    return path
