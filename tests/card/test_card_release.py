"""The card's own words for a release: both or none, and never a word that no record can say."""

import pytest
from card_marked import card, write

from voicewalk.card.load import card_path, load_card
from voicewalk.card.rules import Release
from voicewalk.errors import SourceError

ITEM = "- name: pump casing\n"
BOTH = "release: {released: released for maintenance action, not_released: not released}\n"


def loaded(folder, release):
    path, place = write(folder, release + card(ITEM))
    return load_card(path), place


def test_words_are_kept_as_written(tmp_path):
    words = Release("released for maintenance action", "not released")
    assert loaded(tmp_path, BOTH)[0].release == words


def test_a_card_may_leave_it_out(tmp_path):
    assert loaded(tmp_path, "")[0].release is None


@pytest.mark.parametrize(
    ("release", "wrong"),
    [
        ("release: {released: ¦'', not_released: not released}\n", "one answer"),
        ("release:\n  ¦released: released\n", "one answer"),
        ("release: {released: ¦now Airworthy, not_released: not released}\n", "airworthy"),
        ("release: {released: released, not_released: ¦not fit for flight}\n", "fit for flight"),
    ],
)
def test_faults_are_refused(tmp_path, release, wrong):
    path, _ = write(tmp_path, release + card(ITEM))
    with pytest.raises(SourceError, match=wrong) as caught:
        load_card(path)
    assert caught.value.where.startswith(f"{path}:")


def test_the_shipped_trainer_has_them():
    release = load_card(card_path("jet-trainer")).release
    assert release is not None
    assert release.released.startswith("released for maintenance action")
