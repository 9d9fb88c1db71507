"""Walks begin with a new record and go on with an old one, or say why they cannot."""

import shutil
import tempfile
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from session_booth import Booth, Clock, Notebook

from voicewalk.card.load import card_path, load_card
from voicewalk.clock import Instant
from voicewalk.errors import ModelError, RecordError, VoicewalkError
from voicewalk.record.export import card_of
from voicewalk.record.file import RecordFile
from voicewalk.record.seal import fingerprint
from voicewalk.record.verify import examine, verify
from voicewalk.session.equipment import Calls
from voicewalk.session.events import Kept, Said
from voicewalk.session.opening import begin, record_name, resume
from voicewalk.session.walking import begin_walk, resume_walk
from voicewalk.walk.messages import Interrupted, Start

KOREAN = "tow-tractor-korean"
GONE_ON = ["started", "item", "interrupted", "identity"]
NOW = Instant("2025-03-02T10:20:30.456Z", 1_000)


class Lines:
    """Typed lines from a list."""

    def __init__(self, *lines):
        self.lines = list(lines)

    def read(self, seconds):
        if not self.lines:
            raise EOFError
        line = self.lines.pop(0)
        if isinstance(line, BaseException):
            raise line
        return line


def typed(path, *lines, observers=()):
    return begin_walk(
        "jet-trainer", "M07", "somebody", path, Calls(Lines(*lines)), observers, Clock()
    )


def typed_on(path, *lines, card=None, observers=()):
    return resume_walk(path, card, Calls(Lines(*lines)), observers, Clock())


def entries(path):
    with RecordFile.open(path) as record:
        return [entry.body for entry in record.entries()]


@pytest.mark.parametrize(
    ("identity", "name"),
    [
        ("M07", "jet-trainer-M07-20250302T102030Z.walk"),
        ("../M 07/ß", "jet-trainer-M-07-20250302T102030Z.walk"),
        ("//", "jet-trainer-unnamed-20250302T102030Z.walk"),
    ],
)
def test_the_record_is_named_by_card_identity_and_time(card, identity, name):
    assert record_name(card, identity, NOW) == name


def test_a_record_without_a_name_lies_in_the_working_directory(card, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    opened = begin(card, "M07", "somebody", None, NOW)
    opened.record.close()
    assert [one.name for one in tmp_path.iterdir()] == ["jet-trainer-M07-20250302T102030Z.walk"]
    assert opened.first == Start("M07", "somebody")


def test_no_record_takes_the_place_of_another(card, tmp_path):
    typed(tmp_path / "a.walk")
    with pytest.raises(RecordError, match="already"):
        typed(tmp_path / "a.walk")


def test_nothing_is_left_where_the_sound_file_is_missing(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(VoicewalkError, match="no such file"):
        begin_walk("jet-trainer", "M07", "", None, Calls(audio=tmp_path / "no.wav"), (), Clock())
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_left_where_the_language_has_no_wording(tmp_path):
    shutil.copy(card_path(KOREAN), tmp_path / "own.yaml")
    words = (card_path("jet-trainer").with_name("korean.yaml")).read_text("utf-8")
    (tmp_path / "korean.yaml").write_text(words.replace("language: ko", "language: qq"), "utf-8")
    path = tmp_path / "a.walk"
    with pytest.raises(VoicewalkError, match="no wording for the language 'qq'"):
        begin_walk(str(tmp_path / "own.yaml"), "T1", "", path, Calls(Lines()), (), Clock())
    assert not path.exists()


def test_a_walk_goes_on_where_it_was(tmp_path):
    path = tmp_path / "a.walk"
    first = typed(path, "radome satisfactory")
    assert not first.closed
    seal, *rest = first.lines()
    report = verify(path)
    assert (
        seal
        == f"Head {report.head}, recorder's key {fingerprint(report.key)}: note them elsewhere."
    )
    assert rest == [f"The walk is not closed. Go on with: voicewalk walk --resume {path}"]
    seen = []
    typed_on(path, "m07", "rudder satisfactory", observers=[seen.append])
    assert [body["kind"] for body in entries(path)] == [*GONE_ON, "item"]
    texts = [event.text for event in seen if isinstance(event, Said)]
    assert texts[1].startswith("mike zero seven. Going on. Last, radome. Open again, radome.")


def test_a_pending_question_is_asked_again(tmp_path):
    path = tmp_path / "a.walk"
    typed(path, "oxygen pressure one eight zero zero psi")
    seen = []
    typed_on(path, "m07", "affirm", observers=[seen.append])
    prompts = [event.prompt for event in seen if isinstance(event, Said)]
    assert prompts == ["ask-identity", "identified", "ask-confirm", "recorded-reading"]
    assert entries(path)[-1]["accepted"] == "confirmed"


def test_another_recorders_walk_does_not_go_on(tmp_path, monkeypatch):
    path = tmp_path / "a.walk"
    typed(path, "radome satisfactory")
    monkeypatch.setenv("VOICEWALK_KEYS", str(tmp_path / "other"))
    with pytest.raises(RecordError, match="another recorder"):
        typed_on(path, "rudder satisfactory")
    assert len(entries(path)) == 2


def test_a_walk_goes_on_after_sound_was_taken_out_of_its_record(tmp_path):
    path = tmp_path / "a.walk"
    typed(path, "radome satisfactory")
    with RecordFile.open(path) as record:
        body = {"kind": "redacted", "entry": 2, "clip": "", "reason": "test"}
        record.append(body, Instant("2031-03-02T10:20:30.456Z", 1))
    typed_on(path, "m07", "rudder satisfactory")
    kinds = [body["kind"] for body in entries(path)]
    assert kinds == ["started", "item", "redacted", "interrupted", "identity", "item"]


def test_the_record_keeps_card_and_vocabulary(tmp_path, card):
    path = tmp_path / "a.walk"
    typed(path, "radome satisfactory")
    examined = examine(path)
    assert sorted(examined.texts.values()) == sorted(card.texts.values())
    assert card_of(examined) == card


def test_ctrl_c_leaves_a_whole_record(tmp_path):
    path = tmp_path / "a.walk"
    outcome = typed(path, "radome satisfactory", KeyboardInterrupt(), "rudder satisfactory")
    assert (outcome.interrupted, outcome.unkept) == (True, 0)
    assert [body["kind"] for body in entries(path)] == ["started", "item"]
    assert [one.name for one in tmp_path.iterdir()] == ["a.walk"]


def test_the_gap_is_told_by_wall_time(card, tmp_path):
    begin(card, "M07", "", tmp_path / "a.walk", NOW).record.close()
    with RecordFile.open(tmp_path / "a.walk") as record:
        record.append(_started(card), NOW)
    opened = resume(tmp_path / "a.walk", None, Instant("2025-03-02T10:21:30.456Z", 5))
    opened.record.close()
    assert opened.first == Interrupted(60_000, age_ms=60_000)


def _started(card):
    booth = Booth(card)
    booth.start()
    return booth.record.kept[0][0]


def test_a_record_without_an_entry_has_nothing_to_go_on_with(card, tmp_path):
    begin(card, "M07", "", tmp_path / "a.walk", NOW).record.close()
    with pytest.raises(RecordError, match="nothing has been recorded") as raised:
        typed_on(tmp_path / "a.walk")
    assert "anew" in raised.value.what_to_do


def test_a_closed_walk_does_not_go_on(card, tmp_path):
    lines = [
        line
        for item in card
        for line in (f"{item.name} not applicable", "affirm" if item.readback == "confirm" else "")
    ]
    outcome = typed(tmp_path / "a.walk", *lines, "walkaround complete")
    assert outcome.closed
    assert f"voicewalk show {tmp_path / 'a.walk'}" in list(outcome.lines())
    with pytest.raises(RecordError, match="closed"):
        typed_on(tmp_path / "a.walk")
    # and the refused attempt left the record to others
    typed_on_again = pytest.raises(RecordError, match="closed")
    with typed_on_again:
        typed_on(tmp_path / "a.walk")


@pytest.fixture
def own_card(tmp_path):
    """A card of one's own beside the shipped ones, under another name."""
    path = tmp_path / "own.yaml"
    text = card_path("jet-trainer").read_text(encoding="utf-8")
    path.write_text(text.replace("id: jet-trainer", "id: own-trainer"), encoding="utf-8")
    shutil.copy(card_path("jet-trainer").with_name("english.yaml"), tmp_path)
    return path


def test_a_card_of_ones_own_must_be_named_again(own_card, tmp_path):
    path = tmp_path / "a.walk"
    outcome = begin_walk(str(own_card), "M07", "", path, Calls(Lines("radome good")), (), Clock())
    assert list(outcome.lines())[1:] == [
        f"The walk is not closed. Go on with: voicewalk walk {own_card} --resume {path}"
    ]
    with pytest.raises(RecordError, match="does not come with this program") as raised:
        typed_on(path)
    assert f"--resume {path}" in raised.value.what_to_do
    typed_on(path, "m07", "rudder good", card=str(own_card))
    assert [body["kind"] for body in entries(path)] == [*GONE_ON, "item"]


def test_a_card_that_was_changed_since_is_refused(own_card, tmp_path):
    path = tmp_path / "a.walk"
    begin_walk(str(own_card), "M07", "", path, Calls(Lines("radome good")), (), Clock())
    changed = own_card.read_text(encoding="utf-8").replace("low: 205", "low: 200")
    own_card.write_text(changed, encoding="utf-8")
    assert load_card(own_card).id == "own-trainer"
    with pytest.raises(RecordError, match="another card") as raised:
        typed_on(path, card=str(own_card))
    assert "version 1" in raised.value.what_to_do


def test_what_cannot_be_kept_is_said_at_the_end(tmp_path, monkeypatch):
    full = Notebook()
    full.full = True
    monkeypatch.setattr(RecordFile, "append", full.append)
    outcome = typed(tmp_path / "a.walk", "radome satisfactory")
    assert outcome.unkept == 2
    assert next(iter(outcome.lines())).startswith("NOT KEPT: the last 2 entries or calls")


def test_onlookers_see_the_whole_walk(tmp_path):
    seen = []
    typed(tmp_path / "a.walk", "radome satisfactory", observers=[seen.append])
    assert [event.seq for event in seen if isinstance(event, Kept)] == [1, 2]


@pytest.mark.models
@pytest.mark.parametrize(
    "model",
    [
        "audio.segment._DETECTOR_SHA256",
        "hearing.letter_model._SHA256",
        "hearing.denoise._MODEL_SHA256",
    ],
)
def test_a_model_that_was_altered_is_told_before_a_walk_begins(model, tmp_path, monkeypatch):
    monkeypatch.setattr(f"voicewalk.{model}", "0" * 64)
    soundfile.write(tmp_path / "talk.wav", np.zeros(16_000), 16_000)
    path = tmp_path / "a.walk"
    calls = Calls(audio=tmp_path / "talk.wav")
    with pytest.raises(ModelError, match="not the one that was measured"):
        begin_walk("jet-trainer", "M07", "somebody", path, calls, (), Clock())
    assert not path.exists()


@pytest.mark.parametrize(
    ("identity", "told"),
    [
        ("M\udcff7", "not written in the characters of this system"),  # a byte that is no UTF-8
        ("M\n07", "control characters"),
        ("M\x1b[2J", "control characters"),
        ("M\u202807", "line ends"),
        ("M" * 41, "longer than 40 characters"),
        ("\u220e", "neither letter nor digit"),
        ("\u200b-", "neither letter nor digit"),
        ("", "neither letter nor digit"),
    ],
    ids=ascii,
)
def test_an_identity_that_cannot_be_kept_or_said_is_refused_before_a_walk(
    card, identity, told, tmp_path
):
    with pytest.raises(VoicewalkError, match=told):
        begin(card, identity, "", tmp_path / "a.walk", NOW)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["an\udcffn", "ann\x07", "a" * 101], ids=ascii)
def test_a_name_that_cannot_be_kept_is_refused_before_a_walk(card, name, tmp_path):
    with pytest.raises(VoicewalkError, match="inspector's name"):
        begin(card, "M07", name, tmp_path / "a.walk", NOW)
    with pytest.raises(VoicewalkError, match="second person's name"):
        begin(card, "M07", "ann", tmp_path / "a.walk", NOW, second=name)
    assert list(tmp_path.iterdir()) == []


@settings(max_examples=30)
@given(st.text(max_size=40), st.text(max_size=100))
def test_whatever_is_taken_is_kept(card, identity, name):
    """Any text at all: either it is refused, or the first entry is in the record."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "a.walk")
        calls = Calls(Lines())
        try:
            done = begin_walk("jet-trainer", identity, name, path, calls, (), Clock())
        except VoicewalkError:
            assert not path.exists()
            return
        assert done.unkept == 0
        (entry,) = examine(path).entries
        assert (entry.body["identity"], entry.body["inspector"]) == (identity, name)
