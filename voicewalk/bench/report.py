"""What a run of the benchmark found, as text for people and as groups for programs."""

from __future__ import annotations

import resource
import statistics
from collections.abc import Callable, Sequence
from pathlib import Path

from voicewalk.audio.frames import FRAME, RATE
from voicewalk.bench.observe import Piece, Setting, Trial
from voicewalk.bench.peers import peers_of
from voicewalk.bench.score import (
    CALLS,
    EARS,
    Answers,
    Group,
    Outcome,
    as_json,
    class_of,
    count,
    interval,
    of_ears,
    of_peer,
)
from voicewalk.card.load import card_path, load_card
from voicewalk.errors import SourceError
from voicewalk.hearing.calibration import load_calibration
from voicewalk.hearing.ears import judge_of
from voicewalk.hearing.evidence import AROUND
from voicewalk.settings import AudioSettings


def claim(path: Path) -> None:
    """Make the file in which results are to be kept: told before hours of measuring, not after.

    Raises:
        SourceError: it cannot be written.
    """
    try:
        path.open("a").close()
    except OSError as error:
        raise SourceError(
            str(path), f"cannot be written: {error.strerror}", "Name a file in a folder of yours."
        ) from error


KEYS = ("snr", "source", "kind", "speaker")

_VIEWS: dict[str, Callable[[Trial], tuple[str, ...]]] = {
    "noise": lambda trial: (trial.snr,),
    "noise and source": lambda trial: (trial.snr, trial.recording.source),
    "noise and kind": lambda trial: (trial.snr, class_of(trial)),
    "speaker": lambda trial: (trial.recording.speaker,),
}
_NEAR_VIEWS: dict[str, Callable[[Trial], tuple[str, ...]]] = {
    "kind": lambda trial: (class_of(trial),),
    "noise": lambda trial: (trial.snr,),
    "source": lambda trial: (trial.recording.source,),
}
_NEAR_COLUMNS = {
    Outcome.NEAR_RECORDED: "recorded (wrong)",
    Outcome.NEAR_RIGHT: "entered as what it says",
    Outcome.NEAR_ASKED: "asked back",
    Outcome.NEAR_REFUSED: "refused",
}
_MERGED_COLUMNS = {
    Outcome.MERGED_BOTH: "both entered",
    Outcome.MERGED_ASKED: "asked back",
    Outcome.MERGED_REFUSED: "refused",
    Outcome.MERGED_LOST: "one lost (wrong)",
    Outcome.MERGED_WRONG: "entered otherwise (wrong)",
}
_MOST_SPEAKERS = 24
"""With more the table of speakers says little and fills pages; the JSON has them all."""


def listeners_of(setting: Setting, trials: Sequence[Trial]) -> dict[str, Answers]:
    """The answers of every listener that heard the trials, by its name."""
    judge = judge_of(load_calibration(), load_card(card_path(setting.card)))
    peers = dict.fromkeys(
        name for trial in trials for piece in trial.pieces for name, _ in piece.peers
    )
    return {EARS: of_ears(judge)} | {name: of_peer(name) for name in peers}


def groups_as_json(setting: Setting, trials: Sequence[Trial]) -> list[object]:
    """All trials in groups by level, source, kind and speaker, for each listener."""

    def key(trial: Trial) -> tuple[str, ...]:
        recording = trial.recording
        return trial.snr, recording.source, class_of(trial), recording.speaker

    return [
        one
        for name, answers in listeners_of(setting, trials).items()
        for one in as_json(name, KEYS, count(trials, answers, key))
    ]


def report(setting: Setting, trials: Sequence[Trial]) -> str:
    """Tables by level, source, kind and speaker, which peers are absent, and what the hearing
    took. Speech near a call, and two calls in one breath, have tables of their own."""
    plain = [trial for trial in trials if trial.near is None]
    beside = [trial for trial in trials if trial.near is not None]
    lines: list[str] = []
    for name, answers in listeners_of(setting, trials).items():
        for view, key in _VIEWS.items():
            groups = count(plain, answers, key)
            if view == "speaker" and (name != EARS or len(groups) > _MOST_SPEAKERS):
                continue
            if groups or not beside:
                lines += [f"{name}, by {view}", "", *table(groups), ""]
        for view, key in _NEAR_VIEWS.items():
            groups = count(beside, answers, key)
            for of, shown in (
                ("near calls", near_table),
                ("two calls in one breath", merged_table),
            ):
                if rows := shown(groups):
                    lines += [f"{name}, {of}, by {view}", "", *rows, ""]
    return "\n".join([*lines, *_absent(setting), *_times(trials)])


def _absent(setting: Setting) -> list[str]:
    """The peers asked for that are not on this machine, so that nobody takes them for forgotten."""
    absent = peers_of(setting.card)[1] if setting.peers else []
    return [f"{one.name} is absent: {one.reason}." for one in absent]


def table(groups: dict[tuple[str, ...], Group]) -> list[str]:
    """A Markdown table: shares with 95 % intervals in percent."""
    names = [one.value.replace("_", " ") for one in CALLS]
    head = ["", "calls", *names, "other speech", "accepted"]
    rows = [
        [
            " ".join(key),
            *_shares(group, CALLS),
            str(group.outside_n),
            _share(group.outcomes[Outcome.ACCEPTED], group.outside_n),
        ]
        for key, group in groups.items()
    ]
    return _markdown(head, rows)


def near_table(groups: dict[tuple[str, ...], Group]) -> list[str]:
    """The same of speech near a call; empty where there is none."""
    return _beside(groups, "near calls", _NEAR_COLUMNS)


def merged_table(groups: dict[tuple[str, ...], Group]) -> list[str]:
    """The same of two calls in one breath; empty where there are none."""
    return _beside(groups, "recordings", _MERGED_COLUMNS)


def _beside(
    groups: dict[tuple[str, ...], Group], counted: str, columns: dict[Outcome, str]
) -> list[str]:
    """Of the groups that have any of these outcomes."""
    rows = [
        [" ".join(key), *_shares(group, tuple(columns))]
        for key, group in groups.items()
        if group.of(tuple(columns))
    ]
    return _markdown(["", counted, *columns.values()], rows) if rows else []


def _shares(group: Group, outcomes: Sequence[Outcome]) -> list[str]:
    """How many there are of some outcomes, and the share of each."""
    n = group.of(outcomes)
    return [str(n), *(_share(group.outcomes[one], n) for one in outcomes)]


def _markdown(head: list[str], rows: list[list[str]]) -> list[str]:
    return [f"| {' | '.join(row)} |" for row in (head, ["---"] * len(head), *rows)]


def _share(part: int, of: int) -> str:
    if of == 0:
        return ""
    low, high = interval(part, of)
    return f"{part / of:.1%} ({low:.1%} to {high:.1%})"


def _times(trials: Sequence[Trial]) -> list[str]:
    pieces = [piece for trial in trials for piece in trial.pieces]
    if not pieces:
        return ["No speech was found."]
    seconds = sum(piece.sound.seconds for piece in pieces)
    busy = sum(piece.busy for piece in pieces)
    stages = {
        stage: sum(piece.took[stage] for piece in pieces) / seconds for stage in pieces[0].took
    }
    peak = max(resource.getrusage(who).ru_maxrss for who in _PROCESSES) / 1024
    return [
        f"{seconds:.0f} s of speech heard in {busy:.0f} s: real-time factor {busy / seconds:.2f} ("
        + ", ".join(f"{stage} {factor:.2f}" for stage, factor in stages.items())
        + ").",
        *_delay(pieces),
        f"Peak memory of a process: {peak:.0f} MB.",
    ]


_SETTINGS = AudioSettings()
_AHEAD_MS = 1000 * (_SETTINGS.hangover_frames - _SETTINGS.postroll_frames) * FRAME / RATE
"""From the moment at which a clip is complete to that at which the silence behind it ends it."""

_PROCESSES = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)


def _delay(pieces: Sequence[Piece]) -> list[str]:
    """How long calls of about three seconds wait for the judge's word."""
    waits = [piece.busy for piece in pieces if 2.75 <= piece.sound.seconds - AROUND < 3.25]
    if not waits:
        return []
    middle = statistics.median(waits) * 1000
    after = max(0.0, middle - _AHEAD_MS)
    return [
        f"Calls of 3 s are heard in {middle:.0f} ms in the median. Hearing begins "
        f"{_AHEAD_MS:.0f} ms before their end is found: the judge's word follows {after:.0f} ms "
        "after it."
    ]
