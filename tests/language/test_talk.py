"""The words of speech near a call: those shipped, and what is refused with its place."""

from __future__ import annotations

import pytest
from language_cards import SHIPPED, shipped

from voicewalk.card.load import FOLDERS, find
from voicewalk.errors import SourceError, VoicewalkError
from voicewalk.language.talk import Near, load_talk, talk_of

PLAIN = {
    "language": "en",
    "question": "IS the ITEM STATE",
    "order": "get the ITEM STATE",
    "opposite": "ITEM ISN'T STATE",
    "future": "ITEM will be STATE WHEN",
    "exception": "CALL but one",
    "before": "i think CALL",
    "inside": "ITEM it seems STATE",
    "behind": "CALL no",
    "two_calls": "CALL CALL",
}


def written(tmp_path, **changed: str):
    """A file of talk with some lines changed; "" leaves one out."""
    lines = {**PLAIN, "lists": "{when: [soon]}", **changed}
    path = tmp_path / "talk.yaml"
    path.write_text("\n".join(f"{key}: {text}" for key, text in lines.items() if text))
    return path


def test_a_plain_file_is_read(tmp_path):
    talk = load_talk(written(tmp_path, opposites="{latched: unlatched / ajar}"))
    assert talk.ways[Near.TWO_CALLS] == ("CALL CALL",)
    assert talk.lists == {"WHEN": ("soon",)}
    assert talk.opposites == {"latched": ("unlatched", "ajar")}


@pytest.mark.parametrize(
    ("changed", "line", "says"),
    [
        ({"question": "IS the ITEN STATE"}, 2, "unknown gap 'ITEN'"),
        ({"future": "ITEM will be STATE THEN"}, 5, "unknown gap 'THEN'"),
        ({"order": "get it done"}, 3, "names 0 items"),
        ({"behind": "CALL and ITEM"}, 9, "names 2 items"),
        ({"two_calls": "CALL"}, 10, "names 1 items"),
        ({"two_calls": "ITEM CALL"}, 10, "names 2 items"),
        ({"behind": "CALL 2 times"}, 9, "unknown word '2'"),
        ({"lists": "{item: [soon]}"}, 11, "'item' cannot name a list"),
        ({"lists": "{when: [Soon]}"}, 11, "unknown word 'Soon'"),
        ({"opposites": "{latched: UNLATCHED}"}, 12, "unknown word 'UNLATCHED'"),
        ({"question": "[]"}, 2, "no way of 'question'"),
        ({"question": ""}, 1, "'question' is missing"),
        ({"questions": "IS it"}, 12, "unknown key 'questions'"),
    ],
    ids=str,
)
def test_a_fault_is_told_with_its_line(changed, line, says, tmp_path):
    path = written(tmp_path, **changed)
    with pytest.raises(SourceError) as caught:
        load_talk(path)
    assert caught.value.where.startswith(f"{path}:{line}:")
    assert says in str(caught.value)
    assert caught.value.what_to_do


@pytest.mark.parametrize(
    ("name", "plural"),
    [
        ("flight controls", True),
        ("right static wicks", True),
        ("static wicks right", True),
        ("gear pins stowed", True),
        ("tools", True),
        ("left fuel cap", False),
        ("canopy glass", False),
        ("air pressure loss", False),
        ("front chassis", False),
        ("camera lens", False),
        ("bleed", False),
        ("left", False),
    ],
)
def test_items_are_one_or_several_by_their_names(name, plural):
    assert talk_of("en").is_plural(name) is plural


def test_no_way_of_the_talk_is_said_by_a_list_that_is_not_used():
    talk = talk_of("en")
    used = " ".join(way for ways in talk.ways.values() for way in ways)
    assert [name for name in talk.lists if name not in used] == []


def test_the_talk_of_another_language_is_told_to_be_missing():
    with pytest.raises(VoicewalkError, match="'ko'"):
        talk_of("ko")


def test_a_vocabulary_and_its_talk_are_of_one_language():
    assert load_talk(find("english-talk", FOLDERS)) == talk_of(shipped(SHIPPED[0]).words.language)
