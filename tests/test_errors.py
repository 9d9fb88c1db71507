"""Errors say what to do, and can be told in another process than where they arose."""

import pickle

import pytest

from voicewalk.errors import (
    AudioError,
    ModelError,
    RecordError,
    SourceError,
    VoicewalkError,
)


@pytest.mark.parametrize(
    "error",
    [
        VoicewalkError("no listener", "Name one."),
        AudioError("no sound", "Plug it in."),
        ModelError("no model", "Install it."),
        RecordError("no record", "Look elsewhere."),
        SourceError("card.yaml:3:1", "no unit", "Write one."),
    ],
    ids=lambda error: type(error).__name__,
)
def test_an_error_is_the_same_in_another_process(error):
    other = pickle.loads(pickle.dumps(error))
    assert type(other) is type(error)
    assert (str(other), other.args, vars(other)) == (str(error), error.args, vars(error))
    assert error.what_to_do in str(other)
