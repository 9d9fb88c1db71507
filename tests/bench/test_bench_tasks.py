"""Which recordings are heard at which level and on which card."""

from __future__ import annotations

from collections import Counter
from itertools import product
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.bench.tasks import by_card, levels, tasks_of
from voicewalk.errors import SourceError, VoicewalkError


def folder(path: Path, *texts: str, near: str = "") -> Path:
    """A folder with a recording of each text: the same, for none is heard here."""
    path.mkdir()
    lines = ["path\ttext\tspeaker\tsource\tnear"]
    soundfile.write(path / "a.flac", np.zeros(160, dtype=np.float32), 16_000)
    for text in texts:
        lines.append(f"a.flac\t{text}\tann\tours\t{near}")
    (path / "manifest.tsv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("clean", ["clean"]),
        ("clean,20,10,5,0", ["clean", "20", "10", "5", "0"]),
        (" 10 , clean ", ["10", "clean"]),
        ("-5", ["-5"]),
        ("2.5", ["2.5"]),
    ],
)
def test_levels_are_clean_or_decibels(text, found):
    assert levels(text) == found


@pytest.mark.parametrize("text", ["loud", "", "10,", "10;5", "clean 10", "nan", "inf", "5,-inf"])
def test_other_levels_are_refused(text):
    with pytest.raises(VoicewalkError, match="is no level of noise") as told:
        levels(text)
    assert "clean,10,0" in told.value.what_to_do


@given(st.text("0123456789.-+eclanif, ", max_size=12))
def test_a_level_is_one_that_can_be_mixed_or_an_error(text):
    try:
        found = levels(text)
    except VoicewalkError:
        return
    assert all(one == "clean" or np.isfinite(float(one)) for one in found)


def heard(tasks) -> list[tuple[str, str]]:
    return [(recording.text, snr) for recording, snr in tasks]


def test_every_recording_is_heard_at_every_level(tmp_path):
    folders = [folder(tmp_path / "a", "stop", "next"), folder(tmp_path / "b", "left")]
    assert heard(tasks_of(folders, ["clean", "10"], deal=False)) == [
        ("stop", "clean"), ("stop", "10"),
        ("next", "clean"), ("next", "10"),
        ("left", "clean"), ("left", "10"),
    ]  # fmt: skip


def test_dealt_recordings_are_heard_at_one_level_each_in_turn(tmp_path):
    """The turn goes on from folder to folder, and shifts by one after each round."""
    folders = [folder(tmp_path / "a", "stop", "next", "left"), folder(tmp_path / "b", "right")]
    assert heard(tasks_of(folders, ["clean", "10", "5"], deal=True)) == [
        ("stop", "clean"), ("next", "10"), ("left", "5"), ("right", "10"),
    ]  # fmt: skip


@pytest.mark.parametrize(("speakers", "snrs"), [(12, 4), (12, 5), (5, 5), (3, 4), (1, 5)])
def test_speakers_who_take_turns_are_each_heard_at_every_level_as_often(speakers, snrs, tmp_path):
    """Made calls come from twelve voices in turn."""
    rounds = snrs * snrs
    texts = [f"speaker {n % speakers}" for n in range(speakers * rounds)]
    names = [str(5 * n) for n in range(snrs)]
    tasks = heard(tasks_of([folder(tmp_path / "a", *texts)], names, deal=True))
    counted = Counter(tasks)
    assert set(counted) == set(product(texts, names))
    assert set(counted.values()) == {rounds // snrs}


def test_a_fault_in_any_folder_is_told(tmp_path):
    good, bad = folder(tmp_path / "a", "stop"), folder(tmp_path / "b", "next")
    (bad / "a.flac").unlink()
    with pytest.raises(SourceError, match=r"a\.flac is not there") as told:
        tasks_of([good, bad], ["clean"], deal=False)
    assert told.value.where == f"{bad / 'manifest.tsv'}:2"


CARDS = ("jet-trainer", "vehicle-daily")
JET, VEHICLE, EITHER = "left main tyre pressure 210 psi", "fire extinguisher good", "next"


@pytest.mark.parametrize("cards", [CARDS, CARDS[::-1]], ids=" ".join)
def test_a_folder_goes_to_the_card_that_has_most_of_its_calls(cards, tmp_path):
    jet = folder(tmp_path / "a", JET, EITHER, "the ship was torn apart", "", VEHICLE, JET)
    vehicle = folder(tmp_path / "b", VEHICLE, EITHER)
    assert by_card(cards, [jet, vehicle]) == {"jet-trainer": [jet], "vehicle-daily": [vehicle]}


def test_near_calls_go_to_the_card_that_has_their_items(tmp_path):
    jet = folder(tmp_path / "a", "is the radome good", near="question")
    vehicle = folder(tmp_path / "b", "is the kingpin good", near="question")
    found = by_card(CARDS, [vehicle, jet])
    assert found == {"jet-trainer": [jet], "vehicle-daily": [vehicle]}


def test_a_folder_of_no_card_goes_to_the_first(tmp_path):
    speech = folder(tmp_path / "a", "the ship was torn apart", "")
    assert by_card(CARDS, [speech]) == {"jet-trainer": [speech]}
    assert by_card(CARDS[::-1], [speech]) == {"vehicle-daily": [speech]}


def test_folders_of_a_card_keep_their_order(tmp_path):
    folders = [folder(tmp_path / name, JET) for name in "cab"]
    assert by_card(CARDS, folders) == {"jet-trainer": folders}


def test_an_unknown_card_is_told(tmp_path):
    with pytest.raises(VoicewalkError, match="jet-trainr"):
        by_card(["jet-trainr"], [folder(tmp_path / "a", JET)])
