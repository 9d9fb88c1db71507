"""How alike two texts sound: letters to phonemes by rule, and a weighted phoneme distance.

Phonemes are ARPAbet without stress. The rules are coarse on purpose: they need no model and
compare words with words; the listeners' pronunciations are elsewhere.

The weights follow what noise does to speech: listeners in noise lose the place of articulation
first, while voicing and nasality last (Miller and Nicely 1955, J. Acoust. Soc. Am. 27, 338,
abstract); vowels carry more energy and are weighted more. The numbers themselves are our own
choice, no source.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from voicewalk.language.numbers import PLAIN_DIGITS

# Letters (a regular expression, tried in this order) and their phonemes; "-" is silence.
# "e$" silent and vowels long before one consonant and "e" are the heart of it.
_RULES = r"""
air EH R
are$ EH R
ar(?![aeiou]) AA R
augh AO
au AO
aw AO
ai EY
ay EY
a(?=ll|lk) AO
age$ AH JH
(?<=qu)a AA
a(?=nge) EY
a(?=[bcdfgklmnpstvz]e[sdr]?$) EY
a(?=[bcdfgklmnpstvz]ing$|[bdfgkpt]les?$|tion|tor) EY
a$ AH
(?<=[^aeiou]..)al$ AH L
a AE
bb?(?!$) B
b B
ch CH
ck K
cc(?=[ei]) K S
c(?=[eiy]) S
cc? K
dg(?=e) JH
dd? D
eigh EY
ear IH R
eer IH R
ea IY
ee IY
ei EY
ey$ IY
e[uw] UW
er(?![aeiou]) ER
(?<=[td])ed$ AH D
(?<=[kpfxsh])ed$ T
(?<=c)ed$ T
(?<=..)ed$ D
(?<=[szxcgh])es$ AH Z
(?<=..)es$ Z
(?<=..)e$ -
(?<=..)e(?=ment|less|ly$|ful) -
(?<=..)el$ AH L
(?<=..)en$ AH N
e$ IY
e EH
ff? F
gh(?=t) -
gn$ N
gu(?=[ei]) G
gg G
g(?=[eiy]) JH
gh? G
h HH
igh AY
ied$ AY D
ie IY
(?<=[ts])ive$ IH V
ir(?![aeiou]) ER
i(?=[bcdfgklmnpstvzr]e[sd]?$) AY
i(?=nd$|ld$) AY
ia IY AH
i IH
j JH
^kn N
kk? K
(?<=[bcdfgkptz])les?$ AH L
ll? L
mb$ M
mm? M
ng$ NG
ng(?=s$|ed$) NG
ng(?=[aoul]) NG G
n(?=[kx]) NG
nn? N
ough AO
our$ ER
oor AO R
oar AO R
our(?=t) AO R
oo UW
oa OW
ou AW
ow$ OW
ow AW
o[iy] OY
(?<=[td])or$ ER
or(?![aeiou]) AO R
o(?=[bcdfgklmnpstvz]e[sdn]?$) OW
o(?=ld|ll|lt|st$|sion|tion) OW
(?<=..)on$ AH N
o$ OW
o AA
ph F
^ps S
pp? P
qu K W
q K
rh R
rr? R
sh SH
ssion SH AH N
sion ZH AH N
ssure SH ER
sure ZH ER
sc(?=[ei]) S
(?<=[aeiou])s(?=e[sd]?$) Z
(?<=[aeoubdgmnlrvwy])s$ Z
ss? S
tch CH
tion SH AH N
ture CH ER
th TH
tt? T
ure$ Y UH R
u(?=[bcdfgklmnpstvz]e[sd]?$) UW
u(?=el) Y UW
u[ei] UW
u(?=mul|at) Y UW
ur(?![aeiou]) ER
u$ UW
u AH
v V
^wr R
ward$ W ER D
wh? W
^x Z
x K S
^y Y
(?<=^..)y$ AY
(?<=^.)y$ AY
y$ IY
y(?=re|dr) AY
y IH
zz? Z
"""

# Words that the rules get wrong and that matter here.
_EXCEPTIONS = """
a AH
again AH G EH N
safety S EY F T IY
the TH AH
thread TH R EH D
tread T R EH D
of AH V
to T UW
zero Z IY R OW
oh OW
one W AH N
two T UW
four F AO R
fower F OW ER
five F AY V
fife F AY F
seven S EH V AH N
eight EY T
eighth EY T TH
niner N AY N ER
ten T EH N
eleven IH L EH V AH N
eighteen EY T IY N
eighty EY T IY
hundred HH AH N D R AH D
thousand TH AW Z AH N D
ninety N AY N T IY
nineteen N AY N T IY N
psi P IY EH S AY
psig P IY EH S AY JH IY
aileron EY L ER AA N
antenna AE N T EH N AH
break B R EY K
cover K AH V ER
covers K AH V ER Z
door D AO R
engine EH N JH AH N
fasteners F AE S AH N ER Z
gauge G EY JH
gear G IH R
loose L UW S
low L OW
lower L OW ER
open OW P AH N
pitot P IY T OW
remove R IY M UW V
removed R IY M UW V D
tire T AY ER
tires T AY ER Z
tyre T AY ER
tyres T AY ER Z
was W AA Z
water W AO T ER
"""

# Consonants: manner, place, voiced. Manners next to one another in the table of costs below.
_CONSONANTS: dict[str, tuple[str, str, bool]] = {
    "P": ("stop", "lips", False), "B": ("stop", "lips", True),
    "T": ("stop", "ridge", False), "D": ("stop", "ridge", True),
    "K": ("stop", "back", False), "G": ("stop", "back", True),
    "CH": ("affricate", "palate", False), "JH": ("affricate", "palate", True),
    "F": ("fricative", "lips", False), "V": ("fricative", "lips", True),
    "TH": ("fricative", "teeth", False), "DH": ("fricative", "teeth", True),
    "S": ("fricative", "ridge", False), "Z": ("fricative", "ridge", True),
    "SH": ("fricative", "palate", False), "ZH": ("fricative", "palate", True),
    "HH": ("fricative", "back", False),
    "M": ("nasal", "lips", True), "N": ("nasal", "ridge", True), "NG": ("nasal", "back", True),
    "L": ("glide", "ridge", True), "R": ("glide", "palate", True),
    "W": ("glide", "lips", True), "Y": ("glide", "palate", True),
}  # fmt: skip
# Vowels: openness and backness where they begin and where they end, each 0 to 1.
_VOWELS: dict[str, tuple[float, float, float, float]] = {
    "IY": (0, 0, 0, 0), "IH": (0.25, 0.15, 0.25, 0.15), "EH": (0.6, 0.1, 0.6, 0.1),
    "AE": (0.85, 0.15, 0.85, 0.15), "AA": (1, 0.8, 1, 0.8), "AO": (0.75, 1, 0.75, 1),
    "UH": (0.3, 0.85, 0.3, 0.85), "UW": (0, 1, 0, 1), "AH": (0.6, 0.6, 0.6, 0.6),
    "ER": (0.5, 0.55, 0.5, 0.55), "EY": (0.5, 0.1, 0.05, 0), "OW": (0.5, 1, 0.1, 1),
    "AY": (1, 0.5, 0.1, 0.05), "AW": (1, 0.5, 0.15, 0.95), "OY": (0.7, 1, 0.1, 0.1),
}  # fmt: skip
_VOWEL_WEIGHT = 1.5
_CONSONANT_WEIGHT = 1.0
_PLACE = 0.3
_VOICING = 0.45
_MANNER = 0.65
# A glide and the vowel it is made of, and the syllabic r.
_NEAR_VOWELS = {frozenset(p) for p in (("W", "UW"), ("Y", "IY"), ("R", "ER"))}


def _table(text: str) -> list[tuple[str, tuple[str, ...]]]:
    lines = [line.split() for line in text.strip().splitlines()]
    return [(line[0], tuple(p for p in line[1:] if p != "-")) for line in lines]


_COMPILED = [(re.compile(letters), phones) for letters, phones in _table(_RULES)]
_KNOWN = dict(_table(_EXCEPTIONS))


@lru_cache(maxsize=8192)
def _word_phonemes(word: str) -> tuple[str, ...]:
    if word in _KNOWN:
        return _KNOWN[word]
    found: list[str] = []
    at = 0
    while at < len(word):
        # Each letter has a last rule that matches it alone, so there is always a match.
        matches = ((letters.match(word, at), phones) for letters, phones in _COMPILED)
        match, phones = next((match, phones) for match, phones in matches if match)
        found += phones
        at = match.end()
    return tuple(found)


def phonemes(text: str) -> tuple[str, ...]:
    """ARPAbet phonemes of an English text, without stress.

    Capitals and signs count for nothing; a written digit is said by its name.
    """
    spelled = re.sub("[0-9]", lambda digit: f" {PLAIN_DIGITS[int(digit[0])]} ", text.lower())
    words = re.sub("[^a-z ]", "", re.sub(r"[-\s]+", " ", spelled)).split()
    return tuple(phone for word in words for phone in _word_phonemes(word))


def weight(phones: tuple[str, ...]) -> float:
    """What phonemes weigh: the cost of losing them all."""
    return sum(map(_weight, phones))


def _weight(phone: str) -> float:
    return _VOWEL_WEIGHT if phone in _VOWELS else _CONSONANT_WEIGHT


@cache
def _substitution(one: str, other: str) -> float:
    """The cost of hearing one phoneme for another, at most the mean of their weights."""
    if one == other:
        return 0.0
    whole = (_weight(one) + _weight(other)) / 2
    if one in _VOWELS and other in _VOWELS:
        gaps = [abs(a - b) for a, b in zip(_VOWELS[one], _VOWELS[other], strict=True)]
        return whole * min(1.0, 0.15 + sum(gaps) / 2)
    if one in _CONSONANTS and other in _CONSONANTS:
        kinds = zip(_CONSONANTS[one], _CONSONANTS[other], strict=True)
        costs = zip((_MANNER, _PLACE, _VOICING), kinds, strict=True)
        return whole * min(1.0, sum(cost for cost, (a, b) in costs if a != b))
    return whole * (0.4 if frozenset((one, other)) in _NEAR_VOWELS else 1.0)


def distance(one: str, other: str) -> float:
    """How unlike two texts sound: 0 the same phonemes, 1 nothing in common. Symmetric.

    The cheapest alignment of the phonemes, relative to the longer text.
    """
    return phoneme_distance(phonemes(one), phonemes(other))


def phoneme_distance(one: tuple[str, ...], other: tuple[str, ...]) -> float:
    """``distance`` of what ``phonemes`` returned."""
    longer = max(weight(one), weight(other))
    return min(1.0, sum(cost for _, _, cost in align(one, other)) / longer) if longer else 0.0


def align(
    one: tuple[str, ...], other: tuple[str, ...]
) -> list[tuple[int | None, int | None, float]]:
    """The cheapest alignment: pairs of places, in order, ``None`` for a missing one, and costs."""
    costs = [[0.0] * (len(other) + 1) for _ in range(len(one) + 1)]
    for i in range(1, len(one) + 1):
        costs[i][0] = costs[i - 1][0] + _weight(one[i - 1])
    for j in range(1, len(other) + 1):
        costs[0][j] = costs[0][j - 1] + _weight(other[j - 1])
    for i, phone in enumerate(one):
        above, row, dropped = costs[i], costs[i + 1], _weight(phone)
        for j, heard in enumerate(other):
            row[j + 1] = min(
                above[j] + _substitution(phone, heard),
                above[j + 1] + dropped,
                row[j] + _weight(heard),
            )
    return _traced(one, other, costs)


def _traced(
    one: tuple[str, ...], other: tuple[str, ...], costs: list[list[float]]
) -> list[tuple[int | None, int | None, float]]:
    pairs: list[tuple[int | None, int | None, float]] = []
    i, j = len(one), len(other)
    while i or j:
        swapped = _substitution(one[i - 1], other[j - 1]) if i and j else 0.0
        if i and j and costs[i][j] == costs[i - 1][j - 1] + swapped:
            i, j = i - 1, j - 1
            pairs.append((i, j, swapped))
        elif i and costs[i][j] == costs[i - 1][j] + _weight(one[i - 1]):
            i -= 1
            pairs.append((i, None, _weight(one[i])))
        else:
            j -= 1
            pairs.append((None, j, _weight(other[j])))
    return pairs[::-1]
