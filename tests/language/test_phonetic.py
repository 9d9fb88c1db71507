"""Letters to phonemes against a pronouncing dictionary; the distance against known confusions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.language.phonetic import distance, phoneme_distance, phonemes

# From the CMU Pronouncing Dictionary as shipped with PocketSphinx 5.1 (copyright Carnegie
# Mellon University, 2-clause BSD licence), without stress.
CMUDICT = """
left L EH F T
right R AY T
main M EY N
nose N OW Z
tire T AY ER
pressure P R EH SH ER
brake B R EY K
wheel W IY L
strut S T R AH T
fuel F Y UW AH L
oil OY L
leak L IY K
hydraulic HH AY D R AO L IH K
quantity K W AA N T AH T IY
oxygen AA K S AH JH AH N
panel P AE N AH L
latched L AE CH T
not N AA T
door D AO R
closed K L OW Z D
open OW P AH N
locked L AA K T
static S T AE T IH K
cover K AH V ER
removed R IY M UW V D
intake IH N T EY K
engine EH N JH AH N
blade B L EY D
crack K R AE K
dent D EH N T
corrosion K ER OW ZH AH N
aileron EY L ER AA N
elevator EH L AH V EY T ER
rudder R AH D ER
antenna AE N T EH N AH
beacon B IY K AH N
extinguisher IH K S T IH NG G W IH SH ER
gauge G EY JH
needle N IY D AH L
streamer S T R IY M ER
trailing T R EY L IH NG
edge EH JH
fasteners F AE S AH N ER Z
missing M IH S IH NG
secure S IH K Y UH R
loose L UW S
chafed CH EY F T
accumulator AH K Y UW M Y AH L EY T ER
battery B AE T ER IY
cowling K AW L IH NG
exhaust IH G Z AO S T
propeller P R AH P EH L ER
forward F AO R W ER D
outboard AW T B AO R D
zero Z IH R OW
one W AH N
two T UW
three TH R IY
four F AO R
five F AY V
six S IH K S
seven S EH V AH N
eight EY T
nine N AY N
twelve T W EH L V
thirteen TH ER T IY N
fifty F IH F T IY
hundred HH AH N D R AH D
thousand TH AW Z AH N D
inspected IH N S P EH K T IH D
"""
REFERENCE = [(line.split()[0], tuple(line.split()[1:])) for line in CMUDICT.strip().splitlines()]


def test_trade_words_sound_like_the_dictionary():
    errors = [phoneme_distance(phonemes(word), said) for word, said in REFERENCE]
    assert sum(errors) / len(errors) < 0.05
    assert max(errors) < 0.4


def test_most_trade_words_are_the_dictionary_s():
    exact = [word for word, said in REFERENCE if phonemes(word) == said]
    assert len(exact) >= 0.7 * len(REFERENCE)


@pytest.mark.parametrize(
    ("one", "other"),
    [("tire", "tyre"), ("two", "to"), ("brake", "break"), ("Left Main", "left, main"),
     ("right", "rite"), ("210", "two one zero"), ("center-line", "center line")],
)  # fmt: skip
def test_sounds_the_same(one, other):
    assert distance(one, other) == 0


# What is confused more in noise is nearer. Noise takes the place of articulation first, and
# voicing and nasality last: Miller and Nicely 1955, J. Acoust. Soc. Am. 27, 338 (abstract, seen).
@pytest.mark.parametrize(
    ("word", "other_place", "other_voicing"),
    [("pat", "cat", "bat"), ("tip", "kip", "dip"), ("bat", "gat", "pat"), ("fin", "thin", "vin")],
)
def test_place_is_lost_before_voicing(word, other_place, other_voicing):
    assert 0 < distance(word, other_place) < distance(word, other_voicing)


@pytest.mark.parametrize(
    ("word", "other_place", "nasal"), [("bat", "gat", "mat"), ("dip", "bip", "nip")]
)
def test_place_is_lost_before_nasality(word, other_place, nasal):
    assert 0 < distance(word, other_place) < distance(word, nasal)


@pytest.mark.parametrize(
    ("word", "near", "far"),
    [
        # Why radiotelephony says "fife" and "niner" (reason from memory).
        ("five", "nine", "six"),
        ("nine", "five", "two"),
        # Confusions of a prototype of the listeners.
        ("nineteen", "ninety", "eighty"),
        ("down", "nine", "six"),
        # Common practice, no source.
        ("fifteen", "fifty", "forty"),
        # A word lost must stay near enough to be thought of.
        ("not latched", "latched", "missing"),
        ("unlatched", "latched", "missing"),
        ("left main tire", "right main tire", "oil quantity"),
    ],
)
def test_nearer_is_what_is_confused(word, near, far):
    assert 0 < distance(word, near) < distance(word, far)


def test_nothing_in_common():
    assert distance("", "latched") == 1
    assert distance("", "") == 0


texts = st.text(alphabet="abcdefghijklmnopqrstuvwxyz '-.0123456789AB", max_size=20)


@given(texts, texts)
def test_symmetric_and_between_0_and_1(one, other):
    assert 0 <= distance(one, other) <= 1
    assert distance(one, other) == pytest.approx(distance(other, one))


@given(texts)
def test_no_distance_to_itself(text):
    assert distance(text, text) == 0


@given(texts, texts)
def test_no_distance_means_the_same_phonemes(one, other):
    assert (distance(one, other) == 0) == (phonemes(one) == phonemes(other))


@given(st.text(alphabet="abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=15))
def test_every_word_has_arpabet_phonemes(word):
    arpabet = {phone for _, said in REFERENCE for phone in said} | {"OY", "UH", "DH", "HH"}
    assert phonemes(word)
    assert set(phonemes(word)) <= arpabet
