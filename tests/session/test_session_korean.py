"""A walk in Korean: called, asked, read back and gone on with in Korean, typed and in sound.

In sound it is heard by one listener, so each call is asked back; its calls are eSpeak NG's.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import soundfile
from session_booth import Clock, Onlooker

from voicewalk.audio.frames import RATE
from voicewalk.card.load import card_path, load_card
from voicewalk.language.phrases import draw_phrases
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record.file import RecordReader
from voicewalk.record.verify import verify
from voicewalk.session.equipment import Calls
from voicewalk.session.events import Said
from voicewalk.session.walking import begin_walk, resume_walk

KOREAN = "tow-tractor-korean"


class Lines:
    """Typed lines, one after the other."""

    def __init__(self, *lines: str) -> None:
        self._lines = list(lines)

    def read(self, seconds: float | None) -> str | None:
        if not self._lines:
            raise EOFError
        return self._lines.pop(0)


def bodies(path: Path) -> list[dict]:
    with RecordReader.open(path) as record:
        return [entry.body for entry in record.entries()]


@pytest.fixture
def walked(tmp_path):
    """Types calls to a walk; gives what was said and the bodies that were kept."""
    path = tmp_path / "a.walk"

    def walk(*calls: str) -> tuple[list[str], list[dict]]:
        onlooker, typed = Onlooker(), Calls(Lines(*calls))
        if path.exists():
            resume_walk(path, KOREAN, typed, [onlooker], Clock())
        else:
            begin_walk(KOREAN, "107", "", path, typed, [onlooker], Clock())
        return [event.text for event in onlooker.of(Said)], bodies(path)

    return walk


@pytest.mark.parametrize(
    ("calls", "last"),
    [
        (["소화기 정상"], "소화기, 정상, 기록했습니다."),
        (["견인 고리 열림"], "견인 고리, 안 잠김, 결함, 기록했습니다."),
        (["앞 타이어 마모 안쪽"], "앞 타이어, 마모, 안쪽, 결함, 기록했습니다."),
        (["앞 타이어 점검 불가"], "앞 타이어, 점검 불가. 이유를 말씀하십시오."),
        (["앞 타이어 점검 불가 이유 악천후"], "앞 타이어, 점검 불가, 이유 악천후, 기록했습니다."),
        (["경적 해당 없음"], "경적, 해당 없음, 기록했습니다."),
        (["경적 정상"], "경적. 상태를 말씀하십시오, 작동 또는 작동 안 함."),
        (
            ["전조등 깨짐", "전조등 정상"],
            "확인, 전조등, 정상, 앞의 깨짐 대신. 그렇습니까, 아닙니까?",
        ),
        (["전조등 깨짐", "정정 전조등 정상"], "전조등, 정상, 기록했습니다, 앞의 것을 대신합니다."),
        (["전조등 깨짐", "전조등 정상", "아닙니다"], "다시 말씀하십시오."),
    ],
)
def test_what_is_said(walked, calls, last):
    assert walked(*calls)[0][-1] == last


def test_all_that_is_said_is_in_korean(walked):
    """Whatever is typed: no word of the program's own English is left in any prompt."""
    card = load_card(card_path(KOREAN))
    drawn = [phrase.text for phrase in draw_phrases(card, vocabulary_of(card), 250, 5)]
    said, kept = walked(*drawn)
    assert len({body["kind"] for body in kept}) >= 5
    assert [text for text in said if re.search("[A-Za-z]", text)] == []


def test_it_goes_on_where_it_was(walked):
    walked("전조등 깨짐", "전조등 정상")
    said, _ = walked("그렇습니다")
    assert said[0].startswith("점검을 이어 갑니다, 견인차 107. 마지막 항목, 전조등.")
    assert said[1:] == [
        "확인, 전조등, 정상, 앞의 깨짐 대신. 그렇습니까, 아닙니까?",
        "전조등, 정상, 기록했습니다, 앞의 것을 대신합니다.",
    ]


@pytest.fixture
def in_sound(tmp_path, synth):
    """Says calls in a sound file; gives the bodies that were kept."""

    def walk(*calls: str) -> list[dict]:
        spoken = [synth(text, "espeak:ko+f2", 170) for text in calls]
        pause = np.zeros(2 * RATE, np.float32)
        loud = [one * np.float32(0.3 / np.abs(one).max()) for one in spoken]
        parts = [pause, *(part for one in loud for part in (one, pause))]
        soundfile.write(tmp_path / "talk.wav", np.concatenate(parts), RATE)
        heard = Calls(audio=tmp_path / "talk.wav")
        begin_walk(KOREAN, "107", "", tmp_path / "a.walk", heard, [], Clock())
        return bodies(tmp_path / "a.walk")

    return walk


@pytest.mark.models
@pytest.mark.synth
@pytest.mark.parametrize("times", [1, 3])
def test_what_one_listener_hears_is_no_result_however_often_it_is_said(in_sound, times):
    kept = in_sound(*["앞 타이어 마모"] * times)
    assert {body["kind"] for body in kept} == {"started", "asked back"}
    assert len(kept) == 1 + times


@pytest.mark.models
@pytest.mark.synth
def test_it_is_a_result_when_its_readback_is_affirmed_and_the_record_tells_so(in_sound, tmp_path):
    _, asked, item = in_sound("앞 타이어 마모", "기록 바람")
    assert asked["input"]["heard"]["judge"]["reason"] == "one listener alone"
    assert (item["kind"], item["result"], item["accepted"]) == ("item", "discrepancy", "confirmed")
    for body in (asked, item):
        (listener,) = body["input"]["heard"]["listeners"]
        assert listener["name"] == "vosk"
        assert "probability" not in body["input"]["heard"]
    assert verify(tmp_path / "a.walk").ok
