"""A walk in Korean from the keyboard: called, asked, read back and gone on with in Korean."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from session_booth import Clock, Onlooker

from voicewalk.card.load import load_card
from voicewalk.language.phrases import draw_phrases
from voicewalk.language.vocabulary import vocabulary_of
from voicewalk.record.file import RecordReader
from voicewalk.session.equipment import Calls
from voicewalk.session.events import Said
from voicewalk.session.walking import begin_walk, resume_walk

KOREAN = str(Path(__file__).resolve().parents[2] / "fixtures/korean/tow-tractor-korean.yaml")


class Lines:
    """Typed lines, one after the other."""

    def __init__(self, *lines: str) -> None:
        self._lines = list(lines)

    def read(self, seconds: float | None) -> str | None:
        if not self._lines:
            raise EOFError
        return self._lines.pop(0)


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
        with RecordReader.open(path) as record:
            kept = [entry.body for entry in record.entries()]
        return [event.text for event in onlooker.of(Said)], kept

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
    card = load_card(Path(KOREAN))
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
