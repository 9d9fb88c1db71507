"""The wording in Korean: clean, complete, and in the words that a caller may answer with."""

from __future__ import annotations

import re
from itertools import product

import pytest

from voicewalk.card.load import FOLDERS, find
from voicewalk.language.vocabulary import load_vocabulary
from voicewalk.voice.synthesis import EspeakVoice
from voicewalk.voice.wording import Wording
from voicewalk.walk.messages import Say
from voicewalk.walk.prompts import PROMPTS

KOREAN = Wording("ko")
WORDS = load_vocabulary(find("korean", FOLDERS))
RECORDED = "기록했습니다"

# As a Korean card has them; no number is called in Korean yet, so units stand as they are.
ARGS = {
    "subject": "견인차", "identity": "107", "card": "일일 점검", "items": "13",
    "caution": "현장 규정이 우선합니다.", "last": "전조등", "next": "후미등", "count": "5",
    "names": "경적, 안전띠", "satisfactory": "4", "discrepancies": "3", "not_inspected": "2",
    "item": "소화기", "again": "yes", "state": "안 잠김", "good": "no", "value": "18.5",
    "unit": "bar", "limit": "16", "seen": "3", "expected": "6", "defect": "마모",
    "place": "안쪽", "size": "0.5", "size_unit": "inch", "reason": "전원 없음",
    "call": "견인 고리, 잠김", "first": "첫 말씀", "second": "다른 말씀", "before": "균열",
    "units": "bar, psi", "states": "잠김, 안 잠김", "station": "운전석",
    "key": "7234", "head": "3021",
    "why": "표에 값 없음", "difference": "12", "other": "30", "then": "정비반에 알림",
    "open": "2", "owner": "지상반", "action": "경적 누름", "role": "반장", "said": "108",
    "when": "2026-03-04T05:06:07.000Z", "heard": "good", "expired": "72", "times": "3",
    "walks": "5", "to": "27", "known": "장착", "hours": "24",
    "seconds": "8",
    "status": "사선", "was": "엑스", "proposed": "엑스",
    "added": "2", "scheme": "누설 등급", "grade": "심한 누설",
}  # fmt: skip
SAID = {
    "again": "대신합니다", "good": "결함", "units": "bar 또는 p s i", "states": "잠김 또는 안 잠김",
    "caution": "현장 규정이 우선합니다", "when": "3월 4일 5시 6분", "heard": "잘 들립니다",
}  # fmt: skip
OTHER = {"again": "no", "good": "yes", "heard": "poor"}
EMPTY = {
    ("sound-lost", "seconds"),
    ("recorded-discrepancy", "place"), ("recorded-not-inspected", "reason"),
    ("recorded-still-open", "reason"), ("recorded-count-open", "open"),
    ("recorded-count-open", "names"), ("ask-count-open", "names"), ("identified", "names"),
    ("earlier-walk", "expired"), ("earlier-sent-back", "reason"), ("hand-over-count", "names"),
    ("hand-over-not-called", "names"), ("recorded-quantity", "why"), ("classed", "grade"),
    ("recorded-status", "was"), ("earlier-discrepancy", "status"),
    ("disregarded", "item"), ("given-up", "names"),
    ("ask-either", "call"), ("ask-choice", "call"),
    *((prompt, name) for prompt in ("where", "resumed", "going-on") for name in ("last", "next")),
}  # fmt: skip


def text(prompt: str, **changed: str) -> str:
    return KOREAN.text(Say(prompt, {name: (ARGS | changed)[name] for name in PROMPTS[prompt]}))


def variants(prompt: str) -> list[str]:
    """The message with all that may be otherwise or empty, and without."""
    names = PROMPTS[prompt]
    others = [OTHER.get(name, "" if (prompt, name) in EMPTY else ARGS[name]) for name in names]
    ways = product(*({ARGS[name], other} for name, other in zip(names, others, strict=True)))
    return [text(prompt, **dict(zip(names, way, strict=True))) for way in ways]


@pytest.mark.parametrize(
    ("prompt", "name"), [(prompt, name) for prompt, names in PROMPTS.items() for name in names]
)
def test_each_variable_is_heard(prompt, name):
    assert SAID.get(name, ARGS[name]) in text(prompt)


@pytest.mark.parametrize("prompt", PROMPTS)
def test_every_message_is_clean_speech(prompt):
    for said in variants(prompt):
        assert said[-1] in ".?", said
        assert not re.search(r"\s[.?]|[,.?]{2}|,\.|\s\s|^[,.]|[{}$\n]", said), said
        assert not re.search(r"[a-zA-Z]", re.sub(r"\b(bar|p s i|inch)\b", "", said)), said


@pytest.mark.parametrize("prompt", PROMPTS)
def test_only_what_comes_after_an_entry_says_recorded(prompt):
    assert all((RECORDED in said) == prompt.startswith("recorded-") for said in variants(prompt))


@pytest.mark.parametrize(
    ("prompt", "words"),
    [
        ("ask-choice", (WORDS.first.words[0], WORDS.second.words[0])),
        ("ask-which-side", (WORDS.left.words[0], WORDS.right.words[0])),
        ("ask-result", WORDS.satisfactory.words[:1]),
        ("all-closed", WORDS.commands["walkaround complete"].words[:1]),
        ("ask-correction", WORDS.commands["correction"].words[:1]),
        ("ask-remark", WORDS.commands["remark"].words[:1]),
        ("close-refused", WORDS.not_inspected.words[:1]),
        ("recorded-not-inspected", (WORDS.not_inspected.words[0], WORDS.because[0])),
        ("recorded-not-applicable", WORDS.not_applicable.words[:1]),
        ("recorded-satisfactory", WORDS.satisfactory.words[:1]),
        # "is it so?" of "it is so", "is it not?" of "it is not"
        ("ask-confirm", ("그렇습니", "아닙니")),
        ("ask-confirm-over", ("그렇습니", "아닙니")),
    ],
)
def test_callers_are_asked_in_the_words_of_the_vocabulary(prompt, words):
    said = text(prompt)
    assert [word for word in words if word not in said] == []
    assert all(
        any(way.startswith(stem) for way in WORDS.commands[name].words)
        for stem, name in (("그렇습니", "affirm"), ("아닙니", "negative"))
    )


def test_the_voice_speaks_korean():
    voice = EspeakVoice("ko")
    try:
        speech = voice.synthesise(text("ask-confirm"))
    finally:
        voice.close()
    assert len(speech.samples) / speech.rate > 1
