"""Scripted calls: one for each time it is asked."""

import threading

import numpy as np
import pytest

from voicewalk.audio.frames import FRAME, RATE, Block, CallEnded
from voicewalk.audio.level import power
from voicewalk.audio.scripted import ScriptedCall, ScriptedSource
from voicewalk.settings import AudioSettings

S = AudioSettings(silence_before=0.3, silence_after=0.9)
CALL = np.full(RATE, 0.5, np.float32)


def up_to_its_end(blocks):
    taken = []
    for one in blocks:
        if isinstance(one, CallEnded):
            return np.concatenate([block.samples for block in taken]), one
        taken.append(one)
    raise AssertionError("the source ended first")


def test_a_call_lies_between_silences():
    source = ScriptedSource([ScriptedCall(CALL)], S)
    assert source.next_call()
    sound, ended = up_to_its_end(source.blocks())
    assert np.array_equal(sound, np.pad(CALL, (4800, 14400)))
    assert ended == CallEnded(len(sound), 0)
    assert source.position == len(sound)


def test_calls_come_when_asked_for_and_the_source_ends_with_them():
    source = ScriptedSource([ScriptedCall(CALL), ScriptedCall(CALL * 0.5)], S)
    blocks = source.blocks()
    source.next_call()
    first, _ = up_to_its_end(blocks)
    source.next_call()
    second, ended = up_to_its_end(blocks)
    assert ended.index == 1
    assert np.array_equal(second, first * 0.5)
    assert not source.next_call()
    assert list(blocks) == []


def test_blocks_follow_each_other_across_calls():
    source = ScriptedSource([ScriptedCall(CALL)] * 3, S)
    while source.next_call():
        pass
    at = 0
    for one in source.blocks():
        assert one.start == at
        if isinstance(one, Block):
            assert len(one.samples) <= FRAME
            at = one.end
    assert at == 3 * round(2.2 * RATE)


def test_it_waits_until_it_is_asked():
    source = ScriptedSource([ScriptedCall(CALL)], S)
    got = []
    listener = threading.Thread(target=lambda: got.extend(source.blocks()))
    listener.start()
    assert got == []  # nothing can have come: nobody has asked
    source.next_call()
    listener.join(timeout=10)
    assert isinstance(got[-1], CallEnded)


def test_closing_it_ends_a_listener_that_waits():
    source = ScriptedSource([ScriptedCall(CALL)], S)
    listener = threading.Thread(target=lambda: list(source.blocks()))
    listener.start()
    source.close()
    listener.join(timeout=10)
    assert not listener.is_alive()


def test_closing_it_breaks_a_call_off():
    source = ScriptedSource([ScriptedCall(CALL)], S)
    source.next_call()
    blocks = source.blocks()
    next(blocks)
    source.close()
    assert list(blocks) == []


@pytest.mark.parametrize("snr", [0.0, 10.0])
def test_noise_lies_beneath_the_call_and_the_silence(snr):
    noise = np.random.default_rng(0).normal(size=3000).astype(np.float32)
    source = ScriptedSource([ScriptedCall(CALL, noise, snr)], S)
    source.next_call()
    sound, _ = up_to_its_end(source.blocks())
    silence = np.concatenate([sound[:4800], sound[-14400:]])
    ratio = 10 * np.log10(power(CALL) / power(silence))
    assert ratio == pytest.approx(snr, abs=0.5)


def test_the_noise_goes_on_from_call_to_call():
    noise = np.arange(1, 3001, dtype=np.float32)
    source = ScriptedSource([ScriptedCall(CALL, noise, 0.0)] * 2, S)
    blocks = source.blocks()
    source.next_call()
    first, _ = up_to_its_end(blocks)
    source.next_call()
    second, _ = up_to_its_end(blocks)
    step = first[1] - first[0]
    assert second[0] - first[-1] == pytest.approx(step, rel=0.01)
