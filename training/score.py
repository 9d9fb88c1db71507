"""Counts what the shipped judge makes of trials that ``training.observe`` kept, as the tables of
docs/hearing.md.

    python -m training.score TRIALS.pickle ...
"""

from __future__ import annotations

import argparse
import pickle
from collections import Counter, defaultdict
from collections.abc import Callable
from functools import cache
from pathlib import Path

from voicewalk.bench.observe import Trial
from voicewalk.bench.score import Answers, Outcome, kind_of, of_ears, outcome
from voicewalk.card.load import card_path, load_card
from voicewalk.hearing.calibration import load_calibration
from voicewalk.hearing.ears import judge_of
from voicewalk.language.talk import Near

LEVELS = ("clean", "20", "10", "5", "0")


@cache
def answers_of(card: str) -> Answers:
    """The shipped judge for a card."""
    return of_ears(judge_of(load_calibration(), load_card(card_path(card))))


def class_of(trial: Trial) -> str:
    """Calls, readings among them, speech near calls, two calls, or other speech."""
    if trial.near is not None:
        return "two calls" if trial.near.kind is Near.TWO_CALLS else "near a call"
    if trial.truth is None:
        return "other speech"
    return "readings" if kind_of(trial.truth) == "reading" else "calls"


def table(
    trials: list[tuple[str, str, Trial]], title: Callable[[str, str, Trial], str]
) -> list[str]:
    """Lines of a table: for each title and level how many trials, and what became of them."""
    groups: dict[tuple[str, int], Counter[Outcome]] = defaultdict(Counter)
    for card, folder, trial in trials:
        key = title(card, folder, trial), LEVELS.index(trial.snr)
        groups[key][outcome(trial, answers_of(card))] += 1
    lines = []
    for (name, level), found in sorted(groups.items()):
        count = found.total()
        shares = ", ".join(f"{one.value} {n} ({n / count:.3f})" for one, n in found.most_common())
        lines.append(f"| {name} | {LEVELS[level]} | {count} | {shares} |")
    return lines


def main() -> None:
    """Print the tables: by folder, and of all folders together."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("trials", type=Path, nargs="+")
    chosen = parser.parse_args()
    trials: list[tuple[str, str, Trial]] = []
    for path in chosen.trials:
        trials += pickle.loads(path.read_bytes())
    print("\n".join(table(trials, lambda _, folder, trial: f"{folder}, {class_of(trial)}")))
    print()
    print("\n".join(table(trials, lambda _c, _f, trial: f"all, {class_of(trial)}")))
    wrong = (Outcome.WRONG_ENTRY, Outcome.NEAR_RECORDED, Outcome.ACCEPTED, Outcome.MERGED_LOST)
    for card, folder, trial in trials:
        result = outcome(trial, answers_of(card))
        if result in wrong or result is Outcome.MERGED_WRONG:
            found = [
                answers_of(card)(piece, trial.expectation).understood for piece in trial.pieces
            ]
            print(result.value, folder, trial.snr, trial.recording.text, "->", found)


if __name__ == "__main__":
    main()
