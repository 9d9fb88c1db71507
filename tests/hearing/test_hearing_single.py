"""One listener alone: what it hears is asked back, whatever it hears and however sure it is."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.card.load import card_path, load_card
from voicewalk.hearing.heard import Verdict
from voicewalk.hearing.listeners import Hearing
from voicewalk.hearing.single import ANSWERS, judge_alone
from voicewalk.hearing.vosk_listener import TRAITS, UNHEARD, VoskHearing
from voicewalk.hearing.vosk_model import Reading
from voicewalk.hearing.wording import Part
from voicewalk.language.build import phrase_graph
from voicewalk.language.graph import PhraseGraph
from voicewalk.language.meaning import LEADING, OPTIONAL, Act, Command, Expectation, Meaning
from voicewalk.language.vocabulary import vocabulary_of

KOREAN = "tow-tractor-korean"
CARD = load_card(card_path(KOREAN))
ASKED = Expectation(question=True, between=(Meaning(Act.SATISFACTORY, item="소화기"),))
EITHER = Expectation(
    question=True,
    between=(Meaning(Act.SATISFACTORY, item="소화기"), Meaning(Act.SATISFACTORY, item="전조등")),
)
NOTHING = Expectation()


@cache
def graph() -> PhraseGraph:
    return phrase_graph(CARD, vocabulary_of(CARD))


def heard(*texts: str) -> VoskHearing:
    """A hearing whose readings are these, each a little less likely than the one before."""
    readings = [Reading(text, 100.0 - n) for n, text in enumerate(texts)]
    return VoskHearing(graph(), readings, "[unk]")


def test_it_is_a_listener_among_others():
    """Its readings are its guesses, and a wording is worth the reading that it is."""
    hearing: Hearing = heard("소화기 정상", "소화기 비정상")
    guesses = hearing.guesses(5)
    wordings = [guess.wordings[0] for guess in guesses]
    assert hearing.score(wordings) == [guess.score for guess in guesses] == [0.0, -1.0]
    strange = (Part(("전조등", "정상"), number=False),)
    assert hearing.score([strange]) == [UNHEARD]
    assert heard().free == 0.0


@pytest.mark.parametrize(
    ("texts", "expectation", "verdict", "meanings"),
    [
        # a result, however clear
        (["앞 타이어 정상"], NOTHING, Verdict.ASK, [Act.SATISFACTORY]),
        (["견인 고리 잠김"], NOTHING, Verdict.ASK, [Act.STATE]),
        (["견인 고리 안 잠김"], NOTHING, Verdict.ASK, [Act.STATE]),
        (["앞 타이어 마모"], NOTHING, Verdict.ASK, [Act.DISCREPANCY]),
        (["소화기"], NOTHING, Verdict.ASK, [Act.ITEM]),
        (["정상"], Expectation(item="소화기"), Verdict.ASK, [Act.SATISFACTORY]),
        # two meanings, and never a third
        (
            ["소화기 정상", "소화기 비정상", "소화기 고장"],
            NOTHING,
            Verdict.ASK,
            [Act.SATISFACTORY, Act.DISCREPANCY],
        ),
        # a likelier reading that is no call does not hide one that is
        (["타이어 타이어", "소화기 정상"], NOTHING, Verdict.ASK, [Act.SATISFACTORY]),
        # commands that end, withdraw or start something
        (["점검 종료"], NOTHING, Verdict.ASK, [Act.COMMAND]),
        (["취소"], NOTHING, Verdict.ASK, [Act.COMMAND]),
        (["대기"], NOTHING, Verdict.ASK, [Act.COMMAND]),
        (["정정"], NOTHING, Verdict.ASK, [Act.COMMAND]),
        (["메모"], NOTHING, Verdict.ASK, [Act.COMMAND]),
        # commands that record no result
        (["다시 말씀"], NOTHING, Verdict.UNDERSTOOD, [Act.COMMAND]),
        (["점검 계속"], NOTHING, Verdict.UNDERSTOOD, [Act.COMMAND]),
        (["다음 항목"], NOTHING, Verdict.UNDERSTOOD, [Act.COMMAND]),
        (["다음 항목", "다음 정상"], NOTHING, Verdict.ASK, [Act.COMMAND]),
        (["현재 위치", "소화기 정상"], NOTHING, Verdict.ASK, [Act.COMMAND, Act.SATISFACTORY]),
        # answers to a question, and only to one
        (["그렇습니다"], ASKED, Verdict.UNDERSTOOD, [Act.COMMAND]),
        (["그렇습니다", "네 그렇습니다"], ASKED, Verdict.UNDERSTOOD, [Act.COMMAND]),
        (["아닙니다"], ASKED, Verdict.UNDERSTOOD, [Act.COMMAND]),
        (["처음"], EITHER, Verdict.UNDERSTOOD, [Act.CHOICE]),
        (["처음"], ASKED, Verdict.OUTSIDE, []),
        (["그렇습니다"], NOTHING, Verdict.OUTSIDE, []),
        # an answer that is not sure is none
        (["그렇습니다", "아닙니다"], ASKED, Verdict.OUTSIDE, []),
        (["그렇습니다", "그렇습니다 정상"], ASKED, Verdict.OUTSIDE, []),
        (["그렇습니다", "[unk]"], ASKED, Verdict.OUTSIDE, []),
        # and is not offered beside a call
        (["소화기 정상", "그렇습니다"], ASKED, Verdict.ASK, [Act.SATISFACTORY]),
        # not for the tool
        ([], NOTHING, Verdict.OUTSIDE, []),
        ([""], NOTHING, Verdict.OUTSIDE, []),
        (["[unk]"], NOTHING, Verdict.OUTSIDE, []),
        (["소화기 정상 [unk]"], NOTHING, Verdict.OUTSIDE, []),
        (["[unk]", "소화기 정상"], NOTHING, Verdict.OUTSIDE, []),
        (["타이어 소화기 정상 정상"], NOTHING, Verdict.OUTSIDE, []),
        (["정상"], NOTHING, Verdict.OUTSIDE, []),  # nobody asked
    ],
)
def test_verdict(texts, expectation, verdict, meanings):
    found, guesses, reason = judge_alone(heard(*texts), expectation)
    assert (found, [guess.meaning.act for guess in guesses]) == (verdict, meanings)
    assert reason


def texts() -> st.SearchStrategy[str]:
    """Words of the card in any order, and unknown speech."""
    words = st.sampled_from([*sorted(graph().words), "[unk]"])
    return st.lists(words, max_size=5).map(" ".join)


@given(
    st.lists(texts(), max_size=4),
    st.sampled_from([NOTHING, ASKED, EITHER, Expectation(item="경적")]),
)
def test_nothing_but_answers_and_leading_commands_is_ever_understood(readings, expectation):
    verdict, guesses, _ = judge_alone(heard(*readings), expectation)
    assert len(guesses) <= (1 if verdict is Verdict.UNDERSTOOD else TRAITS.taken)
    assert bool(guesses) is (verdict in (Verdict.UNDERSTOOD, Verdict.ASK))
    if verdict is Verdict.UNDERSTOOD:
        meaning = guesses[0].meaning
        assert meaning.act is Act.CHOICE or meaning.command in ANSWERS | LEADING
        assert not (meaning.item or meaning.group)


def test_what_leads_and_what_answers_withdraws_and_ends_nothing():
    asked_back = set(Command) - set(OPTIONAL) - ANSWERS - LEADING
    assert {Command.CLOSE, Command.DISREGARD, Command.CORRECTION, Command.STAND_BY} <= asked_back


def test_scores_are_relative_to_the_best_reading():
    guesses = heard("타이어", "소화기 정상", "소화기 비정상").guesses(5)
    assert [guess.score for guess in guesses] == [-1.0, -2.0]
