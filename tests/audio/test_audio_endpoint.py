"""The endpointer: by examples, and for any row of probabilities."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.audio.endpoint import Endpointer, Span
from voicewalk.settings import AudioSettings

S = AudioSettings()
QUIET, TRACE, FAINT, SPEECH = 0.01, 0.15, 0.3, 0.9
PAUSE = [QUIET] * S.hangover_frames

probabilities = st.lists(
    st.one_of(
        st.floats(0, 1),
        st.sampled_from([0.0, QUIET, TRACE, S.stay_probability, FAINT, S.start_probability, 1.0]),
    ),
    max_size=300,
)
# Rows of speech and silence in stretches, as calls are: single random frames rarely make one.
stretches = st.lists(
    st.tuples(st.sampled_from([QUIET, TRACE, FAINT, SPEECH]), st.integers(1, 40)), max_size=20
).map(lambda parts: [value for value, length in parts for _ in range(length)])
short = replace(S, most_frames=60, faint_frames=10, lead_frames=20)


def spans(row, settings=S, *, gap=False, after_gap=False) -> list[Span]:
    machine = Endpointer(settings, after_gap=after_gap)
    found = [span for each in row if (span := machine.push(each))]
    return found + ([last] if (last := machine.finish(gap=gap)) else [])


def test_a_call_gets_its_lead_in_and_its_lead_out():
    row = [QUIET] * 30 + [SPEECH] * 20 + PAUSE
    assert spans(row) == [
        Span(30 - S.preroll_frames, 50 + S.postroll_frames, first=30, last=49, cut=False)
    ]


def closing(row, settings=S):
    """For each segment that silence closes: what was foreseen in the frames before, and it."""
    machine, before = Endpointer(settings), []
    for each in row:
        foreseen = machine.foreseen
        before = [*before, foreseen] if foreseen else []
        if span := machine.push(each):
            yield before, span


def test_a_segment_is_foreseen_as_soon_as_its_lead_out_has_passed():
    row = [QUIET] * 30 + [SPEECH] * 20 + PAUSE
    ((before, span),) = closing(row)
    assert set(before) == {span}
    assert len(before) == S.hangover_frames - S.postroll_frames


def test_what_is_foreseen_gives_way_to_speech_that_goes_on():
    machine = Endpointer(S)
    seen = []
    for each in [QUIET] * 30 + [SPEECH] * 9 + PAUSE[:15] + [SPEECH] * 9 + PAUSE:
        machine.push(each)
        seen.append(machine.foreseen)
    found = list(dict.fromkeys(span for span in seen if span))
    assert [(span.first, span.last) for span in found] == [(30, 38), (30, 62)]
    assert seen[30 + 9 + 15 + 1] is None  # it speaks again


@given(stretches)
def test_whatever_silence_closes_was_foreseen_just_as_it_is(row):
    for before, span in closing(row):
        if span.end - span.start < S.most_frames:  # else its length has closed it
            assert before[-1:] == [span]


def test_it_closes_when_the_hangover_has_passed_and_not_before():
    machine = Endpointer(S)
    row = [QUIET] * 30 + [SPEECH] * 20 + PAUSE
    closed_at = [frame for frame, each in enumerate(row) if machine.push(each)]
    assert closed_at == [49 + S.hangover_frames]


def test_a_pause_shorter_than_the_hangover_does_not_part_a_call():
    row = [QUIET] * 30 + [SPEECH] * 9 + PAUSE[1:] + [SPEECH] * 9 + PAUSE
    assert [(span.first, span.last) for span in spans(row)] == [(30, 30 + 9 + 19 + 8)]


def test_a_pause_as_long_as_the_hangover_parts_two_calls():
    row = [QUIET] * 30 + [SPEECH] * 9 + PAUSE + [SPEECH] * 9 + PAUSE
    assert len(spans(row)) == 2


def test_faint_sound_keeps_a_segment_open():
    row = [QUIET] * 30 + [SPEECH] * 5 + [FAINT] * 50 + PAUSE
    assert [span.last for span in spans(row)] == [84]


def test_a_click_is_no_speech():
    assert spans([QUIET] * 30 + [1.0] + PAUSE) == []


@pytest.mark.parametrize("click", [[1.0] * 2, [1.0, 0, 0, 0, 1.0], [1.0] * 3])
def test_what_is_too_short_for_a_clear_word_is_faint(click):
    (span,) = spans([QUIET] * 30 + click + PAUSE)
    assert span.faint
    (span,) = spans([QUIET] * 30 + [SPEECH] * 4 + PAUSE)
    assert not span.faint


def test_a_quiet_word_is_a_faint_segment():
    (span,) = spans([QUIET] * 30 + [TRACE] * 3 + [FAINT] * 5 + [TRACE] * 4 + PAUSE)
    assert span == Span(
        30 - S.preroll_frames, 42 + S.faint_postroll_frames, 33, last=41, cut=False, faint=True
    )


@given(st.lists(st.floats(0, S.hint_probability, exclude_max=True), max_size=300))
def test_traces_alone_open_nothing(row):
    assert spans(row) == []


@pytest.mark.parametrize(("longer", "count"), [(0, 1), (1, 0), (400, 0)])
def test_faint_sound_that_goes_on_is_no_word(longer, count):
    row = [QUIET] * 30 + [FAINT] * (S.faint_frames + longer) + PAUSE
    assert len(spans(row)) == count


def test_faint_sound_that_goes_on_keeps_no_frames():
    machine = Endpointer(S)
    for _ in range(2000):
        machine.push(FAINT)
    assert 2000 - machine.keep_from == S.lead_frames + S.preroll_frames


def test_a_call_reaches_back_over_the_traces_before_its_clear_beginning():
    """ "what do you" in the noise, and "mean" is the first that is clear."""
    row = [QUIET] * 30 + [TRACE, FAINT, FAINT, TRACE] + [QUIET] * 16 + [SPEECH] * 20 + PAUSE
    (span,) = spans(row)
    assert (span.start, span.first, span.faint) == (30 - S.preroll_frames, 50, False)


@pytest.mark.parametrize("trace", [TRACE, FAINT])
def test_traces_beyond_a_pause_are_not_of_the_call(trace):
    pause = [QUIET] * S.hangover_frames
    row = [QUIET] * 30 + [trace] + pause + [SPEECH] * 20 + PAUSE
    (span,) = spans(row)
    assert span.start == 31 + len(pause) - S.preroll_frames


def test_of_faint_sound_that_leads_up_to_a_call_only_the_last_belongs_to_it():
    (span,) = spans([QUIET] * 30 + [FAINT] * 300 + [SPEECH] * 20 + PAUSE)
    assert (span.first, span.faint) == (330, False)
    assert 330 - span.start <= S.lead_frames + S.preroll_frames


@given(stretches, st.integers(0, 3))
def test_where_clear_speech_ends_is_the_same_whatever_hint_came_before(row, hints):
    """A faint beginning opens a segment provisionally: the clear one is told as without it."""
    lead = [QUIET] * 60 + [FAINT] * hints + [QUIET] * (60 - hints)
    found = [span for span in spans(lead + row) if not span.faint and span.first >= 120]
    plain = [span for span in spans([QUIET] * 120 + row) if not span.faint]
    assert [(s.first, s.last) for s in found] == [(s.first, s.last) for s in plain]


def test_speech_longer_than_any_call_is_cut_and_both_parts_say_so():
    row = [QUIET] * 30 + [SPEECH] * (S.most_frames + 50) + PAUSE
    first, second = spans(row)
    assert (first.cut, second.cut) == (True, True)
    assert first.end - first.start == S.most_frames
    assert second.start == first.end


def test_what_follows_a_cut_after_a_breath_says_so_too():
    row = [QUIET] * 30 + [SPEECH] * 365 + [QUIET] * 8 + [SPEECH] * 30 + PAUSE
    assert [span.cut for span in spans(row)] == [True, True]


def test_a_call_after_a_cut_and_a_pause_is_whole():
    row = [QUIET] * 30 + [SPEECH] * 365 + PAUSE + [QUIET] + [SPEECH] * 30 + PAUSE
    assert [span.cut for span in spans(row)] == [True, False]


def test_speech_at_the_very_beginning_may_have_lost_its_own():
    assert [span.cut for span in spans([SPEECH] * 20 + PAUSE)] == [True]
    assert [span.cut for span in spans([QUIET] * 3 + [SPEECH] * 20 + PAUSE)] == [False]


def test_soon_after_a_gap_a_call_may_be_the_second_half_of_one():
    for quiet, cut in ((0, True), (S.hangover_frames - 1, True), (S.hangover_frames, False)):
        row = [QUIET] * quiet + [SPEECH] * 20 + PAUSE
        assert [span.cut for span in spans(row, after_gap=True)] == [cut]


@pytest.mark.parametrize(
    ("quiet", "gap", "cut"), [(0, False, True), (3, False, False), (3, True, True)]
)
def test_an_open_segment_at_the_end(quiet, gap, cut):
    row = [QUIET] * 30 + [SPEECH] * 20 + [QUIET] * quiet
    assert [span.cut for span in spans(row, gap=gap)] == [cut]


@given(st.lists(st.floats(0, S.start_probability, exclude_max=True), max_size=300))
def test_without_a_speech_frame_there_is_no_clear_segment(row):
    assert all(span.faint for span in spans(row))


@given(probabilities | stretches, st.booleans())
def test_segments_are_in_order_apart_and_within_the_sound(row, gap):
    found = spans(row, short, gap=gap)
    edges = [edge for span in found for edge in (span.start, span.end)]
    assert edges == sorted(edges)
    assert all(0 <= span.start <= span.first <= span.last < span.end for span in found)
    assert all(span.end <= len(row) for span in found)
    assert all(span.end - span.start <= short.most_frames for span in found)


@given(probabilities | stretches)
def test_no_stretch_of_speech_is_lost(row):
    """Four speech frames in a row are in a segment, all of them."""
    inside = {frame for span in spans(row) for frame in range(span.start, span.end)}
    runs = [
        range(at, at + S.least_speech_frames)
        for at in range(len(row) - S.least_speech_frames + 1)
        if min(row[at : at + S.least_speech_frames]) >= S.start_probability
    ]
    assert inside.issuperset(frame for run in runs for frame in run)


@given(probabilities | stretches)
def test_a_segment_needs_speech(row):
    for span in spans(row, short):
        inside = row[span.first : span.last + 1]
        least = S.hint_probability if span.faint else S.start_probability
        frames = min(S.hint_frames, S.start_frames) if span.faint else S.least_speech_frames
        assert sum(each >= least for each in inside) >= frames


@given(probabilities | stretches)
def test_frames_it_lets_go_are_in_no_later_segment(row):
    machine = Endpointer(short)
    for each in row:
        keep_from = machine.keep_from
        if span := machine.push(each):
            assert span.start >= keep_from
    keep_from = machine.keep_from
    if span := machine.finish():
        assert span.start >= keep_from
