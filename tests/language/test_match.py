"""Near phrases are ranked by sound; words that must agree are never bridged."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from voicewalk.language.match import best_matches
from voicewalk.language.numbers import parse_number, spoken_forms

PHRASES = [
    "left main tire pressure",
    "right main tire pressure",
    "nose tire pressure",
    "left main tire",
    "right main tire",
    "nose tire",
    "oil quantity",
    "oil pressure",
    "fuel quantity",
    "fuel line",
    "latched",
    "not latched",
    "unlatched",
    "serviceable",
    "unserviceable",
    "inspected",
    "not inspected",
    "access panel closed",
    "access panel open",
    "static port cover removed",
    "beacon on",
    "beacon off",
    "engine five",
    "engine nine",
    "left main tire pressure two one zero psi",
    "cut three quarters inch",
]


def scores(text, phrases=PHRASES):
    return {match.phrase: match.score for match in best_matches(text, phrases, len(phrases))}


@pytest.mark.parametrize(
    ("text", "phrase"),
    [
        ("lft main tire presure", "left main tire pressure"),
        ("left main tyre pressure", "left main tire pressure"),
        ("Left main tire pressure.", "left main tire pressure"),
        ("the left main tire", "left main tire"),
        ("rite main tire", "right main tire"),
        ("write main tire", "right main tire"),
        ("rihgt main tire", "right main tire"),
        ("fuel quantaty", "fuel quantity"),
        ("beakon on", "beacon on"),
        ("axis panel closed", "access panel closed"),
        ("static prot cover removed", "static port cover removed"),
        ("latchd", "latched"),
        ("not latchd", "not latched"),
        ("unlatchd", "unlatched"),
        ("servicable", "serviceable"),
        ("engine 5", "engine five"),
        ("left main tire pressure 210 psi", "left main tire pressure two one zero psi"),
        ("left main tire pressure two hundred and ten psi",
         "left main tire pressure two one zero psi"),
        ("cut three quarters inches", "cut three quarters inch"),
    ],
)  # fmt: skip
def test_a_slip_finds_its_phrase(text, phrase):
    best, *others = best_matches(text, PHRASES, 2)
    assert best.phrase == phrase
    assert best.score > 0.65
    assert all(other.score < best.score - 0.1 for other in others)


# "Never losing a word may turn bad into good", and no side or number is ever changed.
@pytest.mark.parametrize(
    ("text", "phrase"),
    [
        ("latched", "not latched"),
        ("not latched", "latched"),
        ("isn't latched", "latched"),
        ("never latched", "latched"),
        ("without latched", "latched"),
        ("nt latched", "latched"),
        ("knot latched", "latched"),
        ("notlatched", "latched"),
        ("unlatched", "latched"),
        ("latched", "unlatched"),
        ("unlached", "latched"),
        ("nlatched", "latched"),
        ("latchd", "unlatched"),
        ("unservicable", "serviceable"),
        ("serviceable", "unserviceable"),
        ("inspected", "not inspected"),
        ("no inspected", "not inspected"),
        ("left main tire", "right main tire"),
        ("lft main tire", "right main tire"),
        ("main tire", "left main tire"),
        ("left right main tire", "left main tire"),
        ("left main tire right", "right main tire"),
        ("beacon of", "beacon on"),
        ("beacon", "beacon on"),
        ("beacon in", "beacon on"),
        ("fuel nine", "fuel line"),
        ("engine five", "engine nine"),
        ("engine fife", "engine nine"),
        ("engine fve", "engine five"),  # a misspelled number is never read as one
        ("engine 9", "engine five"),
        ("engine", "engine five"),
        ("left main tire pressure two zero psi", "left main tire pressure two one zero psi"),
        ("left main tire pressure to one zero psi", "left main tire pressure two one zero psi"),
        ("left main tire pressure 211 psi", "left main tire pressure two one zero psi"),
        ("left main tire pressure 2 10 psi", "left main tire pressure two one zero psi"),
        ("left main tire pressure", "left main tire pressure two one zero psi"),
        ("cut a quarter inch", "cut three quarters inch"),
    ],
)
def test_words_that_must_agree_are_never_bridged(text, phrase):
    assert phrase in PHRASES
    assert phrase not in scores(text)


@pytest.mark.parametrize(
    ("text", "phrase"),
    [
        ("main landing gear", "main landing light"),
        ("oil pressure", "oil quantity"),
        ("access panel open", "access panel closed"),
        ("static port cover", "static port cover removed"),
        ("left main tire pressure gauge cover", "left main tire pressure gauge"),
        ("happy birthday", "serviceable"),
    ],
)
def test_an_unlike_word_keeps_the_score_low_however_long_the_phrase(text, phrase):
    # "known" words only, so that nothing is refused as a slip.
    assert scores(text, [phrase, text])[text] == 1
    assert scores(text, [phrase, text]).get(phrase, 0) < 0.55


@pytest.mark.parametrize(
    ("text", "other"), [("oil quality", "oil quantity"), ("nose tire", "hose tire")]
)
def test_the_margin_tells_words_that_sound_alike(text, other):
    near = scores(text, [other, text])
    assert near[text] == 1 > near[other] > 0.7


def test_a_word_of_the_phrases_is_no_slip_of_another():
    as_a_slip = scores("rotor house", ["rotor hose"])["rotor hose"]
    as_a_word = scores("rotor house", ["rotor hose", "house"])["rotor hose"]
    assert as_a_slip > as_a_word + 0.05


OPPOSED = ["left", "right", "not", "no", "off", "on", "upper", "lower", "inboard", "aft"]
ORDINARY = ["main", "tire", "pressure", "panel", "latched", "strut", "fuel", "quantity", "gauge"]
NUMBERS = ["one", "two", "five", "nine", "twenty", "hundred", "15", "50"]
phrases = st.lists(st.sampled_from(ORDINARY + OPPOSED + NUMBERS), min_size=1, max_size=6)


def opposed(words):
    return [word for word in words if word in OPPOSED]


@given(phrases, phrases)
def test_a_match_holds_the_same_opposed_words(text, phrase):
    assume(opposed(text) != opposed(phrase))
    assert best_matches(" ".join(text), [" ".join(phrase)], 1) == []


@given(phrases, st.sampled_from(OPPOSED + NUMBERS), st.integers(0, 6))
def test_one_such_word_more_or_less_is_no_match(words, extra, place):
    phrase = " ".join(words)
    longer = " ".join([*words[:place], extra, *words[place:]])
    assert best_matches(longer, [phrase], 1) == []
    assert best_matches(phrase, [longer], 1) == []


@given(st.integers(0, 99_999), st.integers(0, 99_999), st.data())
def test_numbers_match_by_value_and_only_by_value(one, other, data):
    said = data.draw(st.sampled_from(spoken_forms(parse_number([str(one)]))))
    text = f"pressure {' '.join(said)} psi"
    found = best_matches(text, [f"pressure {one} psi"], 1)
    assert [match.score for match in found] == [1]
    assume(one != other)
    assert best_matches(text, [f"pressure {other} psi"], 1) == []


@given(st.sampled_from(PHRASES))
def test_a_phrase_itself_comes_first(phrase):
    assert best_matches(phrase, PHRASES, 1)[0].phrase == phrase
    assert best_matches(phrase, PHRASES, 1)[0].score == 1


@given(st.text(max_size=30), st.integers(1, 5))
def test_any_text_gives_ranked_scores(text, limit):
    found = best_matches(text, PHRASES, limit)
    assert len(found) <= limit
    assert all(0 < match.score <= 1 for match in found)
    assert [match.score for match in found] == sorted((m.score for m in found), reverse=True)


@pytest.mark.parametrize("text", ["", " ", "...", "the", "…"])
def test_nothing_said(text):
    assert best_matches(text, PHRASES, 3) == []


def test_no_phrases():
    assert best_matches("left main tire", [], 3) == []


def test_equal_phrases_keep_their_order():
    assert [m.phrase for m in best_matches("tire", ["tyre", "tire"], 2)] == ["tyre", "tire"]
