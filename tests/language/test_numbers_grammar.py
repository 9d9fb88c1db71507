"""The number grammar is unambiguous, and its acceptor holds exactly what is parsed."""

from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.errors import NumberError
from voicewalk.language.number_grammar import START, Step, Steps, number_grammar, number_steps
from voicewalk.language.numbers import NUMBER_WORDS, parse_number, spoken_forms

FULL = number_grammar(decimals=True, fractions=True)
ALL = [
    number_grammar(decimals=decimals, fractions=fractions, whole_digits=digits)
    for decimals, fractions, digits in product((False, True), (False, True), range(1, 6))
]


def acceptor(grammar):
    table = {(arc.src, arc.word): arc.dst for arc in grammar.arcs}

    def accepts(words):
        state = grammar.start
        for word in words:
            state = table.get((state, word))
        return state in grammar.finals

    return accepts


def parses(words):
    try:
        parse_number(words)
    except NumberError:
        return False
    return True


def ambiguous_pair(table):
    """A pair of final states that two different paths of the same words reach, if any.

    The usual test on the product of an automaton with itself: it covers sequences of every
    length. Two paths that differ and meet again count as different.
    """
    seen = {(START, START, False)}
    queue = list(seen)
    for one, other, apart in queue:
        if apart and one in table.finals and other in table.finals:
            return one, other
        steps, others = table.steps.get(one, {}), table.steps.get(other, {})
        for word in steps.keys() & others.keys():
            for i, a in enumerate(steps[word]):
                for j, b in enumerate(others[word]):
                    split = apart or one != other or i != j
                    if (triple := (a.dst, b.dst, split)) not in seen:
                        seen.add(triple)
                        queue.append(triple)
    return None


@pytest.mark.parametrize("decimals", [False, True])
@pytest.mark.parametrize("fractions", [False, True])
@pytest.mark.parametrize("whole_digits", range(1, 6))
def test_every_sequence_of_words_of_any_length_has_at_most_one_reading(
    decimals, fractions, whole_digits
):
    table = number_steps(decimals=decimals, fractions=fractions, whole_digits=whole_digits)
    assert ambiguous_pair(table) is None


def test_the_ambiguity_test_finds_an_ambiguity():
    # Word2number's mistake in small: "twenty five" also as twenty and then five.
    twenty = (Step("tens", 1, Decimal(20)), Step("digits", 1, Decimal(20)))
    steps = {
        START: {"twenty": twenty},
        "tens": {"five": (Step("end", 1, Decimal(5)),)},
        "digits": {"five": (Step("end", 10, Decimal(5)),)},
    }
    assert ambiguous_pair(Steps(steps, frozenset({"end"}))) == ("end", "end")


def test_accepted_and_parsed_are_the_same_up_to_three_words():
    accepts = acceptor(FULL)
    words = sorted(NUMBER_WORDS)
    for length in range(4):
        for sequence in product(words, repeat=length):
            assert accepts(sequence) == parses(sequence), sequence


@st.composite
def accepted(draw, grammars=ALL):
    """A random walk through an acceptor that ends in a final state."""
    grammar = draw(st.sampled_from(grammars))
    follow = {}
    for arc in grammar.arcs:
        follow.setdefault(arc.src, []).append(arc)
    state, words = grammar.start, []
    while state not in grammar.finals or (state in follow and draw(st.booleans())):
        arc = draw(st.sampled_from(follow[state]))
        words.append(arc.word)
        state = arc.dst
    return words


@given(accepted())
def test_what_an_acceptor_accepts_parses(words):
    assert 0 <= parse_number(words) < 100_000


@pytest.mark.parametrize("digits", range(1, 6))
@given(data=st.data())
def test_a_smaller_acceptor_keeps_to_its_digits(digits, data):
    grammar = number_grammar(decimals=False, fractions=False, whole_digits=digits)
    assert parse_number(data.draw(accepted([grammar]))) < 10**digits


@given(
    st.integers(0, 99_999),
    st.one_of(st.none(), st.integers(0, 999)),
)
def test_spoken_forms_are_accepted_by_the_smallest_grammar_for_them(whole, thousandths):
    value = Decimal(whole)
    if thousandths is not None:
        value += Decimal(thousandths).scaleb(-3)
    grammar = number_grammar(
        decimals=thousandths is not None, fractions=False, whole_digits=len(str(whole))
    )
    assert all(map(acceptor(grammar), spoken_forms(value)))


@given(st.integers(1, 16 * 99))
def test_spoken_fractions_are_accepted(sixteenths):
    grammar = number_grammar(decimals=True, fractions=True, whole_digits=2)
    forms = spoken_forms(Decimal(sixteenths) / 16, fractions=True)
    assert all(map(acceptor(grammar), forms))


@pytest.mark.parametrize("grammar", ALL)
def test_deterministic_without_empty_arcs_or_dead_states(grammar):
    keys = [(arc.src, arc.word) for arc in grammar.arcs]
    assert len(set(keys)) == len(keys)
    assert all(arc.word for arc in grammar.arcs)
    reached, useful = {grammar.start}, set(grammar.finals)
    for _ in grammar.arcs:
        reached |= {arc.dst for arc in grammar.arcs if arc.src in reached}
        useful |= {arc.src for arc in grammar.arcs if arc.dst in useful}
    assert reached == useful == {grammar.start} | {arc.dst for arc in grammar.arcs}


@pytest.mark.parametrize("grammar", ALL)
def test_minimal_no_two_states_have_the_same_future(grammar):
    # Moore's refinement, unlike Brzozowski's construction in the module.
    states = {grammar.start} | {arc.dst for arc in grammar.arcs}
    group = {state: int(state in grammar.finals) for state in states}
    while True:
        key = {
            state: (
                group[state],
                tuple(sorted((a.word, group[a.dst]) for a in grammar.arcs if a.src == state)),
            )
            for state in states
        }
        numbers = {k: n for n, k in enumerate(sorted(set(key.values())))}
        finer = {state: numbers[key[state]] for state in states}
        if len(set(finer.values())) == len(set(group.values())):
            break
        group = finer
    assert len(set(finer.values())) == len(states)


# The acceptor is minimal, so these sizes are the price of the forms themselves; they are here
# to be noticed when a form is added.
@pytest.mark.parametrize(
    ("decimals", "fractions", "whole_digits", "arcs"),
    [
        (False, False, 1, 14),
        (False, False, 2, 60),
        (False, False, 3, 172),
        (True, False, 2, 111),
        (True, False, 3, 229),
        (True, False, 4, 339),
        (True, False, 5, 359),
        (True, True, 1, 113),
        (True, True, 2, 243),
    ],
)
def test_size(decimals, fractions, whole_digits, arcs):
    grammar = number_grammar(decimals=decimals, fractions=fractions, whole_digits=whole_digits)
    assert len(grammar.arcs) <= arcs


def test_built_once_and_the_same():
    assert number_grammar(decimals=True, fractions=True) is FULL


@pytest.mark.parametrize("digits", [0, 6])
def test_impossible_number_of_digits(digits):
    with pytest.raises(ValueError, match="whole_digits must be 1 to 5"):
        number_grammar(decimals=False, fractions=False, whole_digits=digits)
