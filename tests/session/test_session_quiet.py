"""Speech among the last bits: nothing of it is understood at once, and what to do is said once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from session_booth import Booth, Ears, command, heard, item
from test_session_sounds import Stream

from voicewalk.card.load import card_path, load_card
from voicewalk.card.model import GoBack
from voicewalk.hearing.heard import Candidate, Heard, Verdict
from voicewalk.language.meaning import Act, Meaning
from voicewalk.session.sounds import listen
from voicewalk.session.trust import is_quiet, trusted
from voicewalk.walk.messages import Interrupted

LOUD, QUIET = 1.0, 0.015  # the recordings lie near -25 dBFS


@pytest.fixture
def hear(booth):
    """Plays calls, each at a loudness, to ears that hear what they are told."""

    def play(*told: tuple[Heard, float], booth: Booth = booth) -> Booth:
        stream = Stream()

        def blocks():
            for _, loudness in told:
                for block in stream.call():
                    yield type(block)(block.samples * np.float32(loudness), block.start)

        ears = Ears([one for one, _ in told])
        listen(booth.loop, stream.play(blocks()), ears)
        assert not ears.to_hear
        return booth

    return play


def test_a_whisper_is_asked_back_and_told_once_what_to_do(hear):
    booth = hear((heard(), QUIET), (heard(command("affirm")), QUIET), (heard(), QUIET))
    assert booth.record.kinds == ["started", "asked back", "asked back", "asked back"]
    assert booth.prompts[1:3] == ["hearing", "ask-confirm"]
    assert booth.prompts.count("hearing") == 1
    sound = booth.record.kept[1][0]["input"]["heard"]["sound"]
    assert sound["notes"] == ["quiet"]
    assert int(sound["level_dbfs"]) < -55


def test_a_whisper_is_taken_once_it_was_affirmed_aloud(hear):
    booth = hear((heard(), QUIET), (heard(command("affirm")), LOUD))
    assert booth.record.kinds == ["started", "asked back", "item"]
    assert booth.record.kept[2][0]["accepted"] == "confirmed"


def test_a_whispered_answer_is_never_one(hear):
    booth = hear((heard(verdict=Verdict.ASK), QUIET), (heard(command("affirm")), QUIET))
    assert "item" not in booth.record.kinds
    assert "hearing" in booth.prompts


def test_after_a_call_that_was_loud_enough_it_is_told_again(hear):
    booth = hear((heard(), QUIET), (heard(item("rudder")), LOUD), (heard(), QUIET))
    assert booth.prompts.count("hearing") == 2


def test_a_whisper_that_is_not_for_the_tool_leaves_no_trace(hear):
    booth = hear((heard(verdict=Verdict.OUTSIDE), QUIET))
    assert (booth.record.kinds, booth.prompts) == (["started"], ["started"])


def test_of_talk_nothing_is_asked(hear):
    booth = hear((heard(Meaning(Act.TALK, item="rudder")), QUIET))
    assert booth.record.kinds == ["started"]
    assert booth.prompts == ["started", "hearing", "no-result"]


def test_where_an_identity_is_asked_for_the_walk_tells_it(hear):
    card = replace(load_card(card_path("jet-trainer")), after_interruption=GoBack.RESUME)
    booth = Booth(card)
    booth.start()
    booth.loop.give(Interrupted(1000))
    hear((heard(Meaning(Act.IDENTITY, value="M07")), QUIET), booth=booth)
    assert booth.prompts.count("hearing") == 1
    assert not [body for body, _ in booth.record.kept if body["kind"] == "identity"]


@pytest.mark.parametrize("verdict", Verdict)
@pytest.mark.parametrize("meanings", [(item("rudder"),), (command("affirm"),)])
@pytest.mark.parametrize(("cut", "quiet"), [(True, False), (True, True), (False, True)])
def test_what_is_not_trusted_is_never_understood(verdict, meanings, cut, quiet):
    candidates = tuple(Candidate(one, "words") for one in meanings)
    taken = trusted(Heard(verdict, candidates, 0.99, "sound"), cut=cut, quiet=quiet)
    assert taken.verdict is not Verdict.UNDERSTOOD
    assert (taken.verdict is Verdict.OUTSIDE) == (verdict is Verdict.OUTSIDE)


def test_the_level_that_is_too_quiet():
    assert [is_quiet(level) for level in (-120.0, -55.1, -55.0, 0.0)] == [True, True, False, False]
