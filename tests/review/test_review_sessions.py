"""Sessions and wrong passwords, by a clock that is an argument."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.review.sessions import (
    FIRST_WAIT_MS,
    FORGET_MS,
    FREE_TRIES,
    IDLE_MS,
    LONGEST_WAIT_MS,
    MOST_COUNTED,
    MOST_SESSIONS,
    Failures,
    Person,
    Sessions,
)

PERSON = Person("Iva Denholm", None)


def test_a_session_is_found_by_its_token_alone():
    sessions = Sessions()
    one, other = sessions.begin(PERSON, 0), sessions.begin(Person("Ivo Brandt", None), 0)
    assert sessions.of(one, 1).person == PERSON
    assert sessions.of(other, 1).person.name == "Ivo Brandt"
    assert sessions.of(one[:-1], 1) is None
    assert len({one, other, sessions.of(one, 1).form, sessions.of(other, 1).form}) == 4


def test_use_keeps_it_open():
    sessions = Sessions()
    token = sessions.begin(PERSON, 0)
    for n in range(1, 5):
        assert sessions.of(token, n * (IDLE_MS - 1))
    assert sessions.of(token, 5 * IDLE_MS) is None


def test_there_is_an_end_to_how_many_are_open():
    sessions = Sessions()
    first = sessions.begin(PERSON, 0)
    tokens = [sessions.begin(PERSON, n) for n in range(1, MOST_SESSIONS + 1)]
    assert sessions.of(first, MOST_SESSIONS) is None
    assert sessions.of(tokens[-1], MOST_SESSIONS)


def test_a_new_link_makes_the_earlier_one_void():
    sessions = Sessions()
    first, second = sessions.new_link(), sessions.new_link()
    assert [sessions.use_link(one) for one in (first, second, second, "")] == [
        *(False, True, False, False)
    ]


def test_mistyping_costs_nothing_and_guessing_ever_more():
    failures, waits = Failures(), []
    for _ in range(FREE_TRIES + 12):
        waits.append(failures.wait_ms(("a",), 0))
        failures.wrong(("a",), 0)
    assert waits[:FREE_TRIES] == [0] * FREE_TRIES
    assert waits[FREE_TRIES : FREE_TRIES + 3] == [FIRST_WAIT_MS * n for n in (1, 2, 4)]
    assert waits[-1] == LONGEST_WAIT_MS


@pytest.mark.parametrize("who", [("from 1", "as b"), ("from 2", "as a")])
def test_either_counts(who):
    failures = Failures()
    for _ in range(FREE_TRIES):
        failures.wrong(("from 1", "as a"), 0)
    assert failures.wait_ms(who, 0)
    assert not failures.wait_ms(("from 2", "as b"), 0)


def test_the_right_one_and_a_day_make_good():
    failures = Failures()
    for _ in range(FREE_TRIES):
        failures.wrong(("a",), 0)
        failures.wrong(("b",), 0)
    failures.right(("a",))
    assert not failures.wait_ms(("a",), 0)
    assert failures.wait_ms(("b",), 0)
    assert not failures.wait_ms(("b",), FORGET_MS)


def test_names_made_up_do_not_fill_the_memory():
    failures = Failures()
    for n in range(MOST_COUNTED * 2):
        failures.wrong((f"as {n}",), n)
    assert len(failures._counts) <= MOST_COUNTED


@given(st.lists(st.integers(0, LONGEST_WAIT_MS), min_size=1, max_size=200))
def test_a_day_of_guessing_is_about_a_hundred(pauses):
    """Whenever they are tried, no more are looked at than the waits allow."""
    failures, now, looked_at = Failures(), 0, 0
    for pause in pauses:
        now += pause
        if not failures.wait_ms(("a",), now):
            failures.wrong(("a",), now)
            looked_at += 1
    most = FREE_TRIES + 8 + now / LONGEST_WAIT_MS
    assert looked_at <= most
