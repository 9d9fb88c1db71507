"""Hears folders of clips with the product's listeners and keeps what they heard, so that a judge
can be learnt and measured again and again without listening again.

    python -m training.observe OUT.pickle --noise NOISE --snr clean,20,10,5,0 --jobs 16 \
        jet-trainer=FOLDER vehicle-daily=FOLDER [--deal]
"""

from __future__ import annotations

import argparse
import pickle
import time
from pathlib import Path

from voicewalk.bench.observe import Setting, Trial, observe
from voicewalk.bench.tasks import levels, tasks_of


def main() -> None:
    """Hear, and write the trials with the name of their card and folder."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("folders", nargs="+", help="CARD=FOLDER")
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--snr", default="clean,10,5,0")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--deal", action="store_true")
    parser.add_argument("--peers", action="store_true")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    heard: list[tuple[str, str, Trial]] = []
    for pair in chosen.folders:
        card, _, folder = pair.partition("=")
        begun = time.monotonic()
        tasks = tasks_of([Path(folder)], levels(chosen.snr), deal=chosen.deal)
        setting = Setting(card, chosen.noise, chosen.seed, chosen.peers)
        found = list(observe(setting, tasks, chosen.jobs))
        heard += [(card, Path(folder).name, trial) for trial in found]
        print(f"{pair}: {len(found)} trials, {time.monotonic() - begun:.0f} s", flush=True)
        with chosen.out.open("wb") as file:  # after each folder: hearing takes long
            pickle.dump(heard, file)


if __name__ == "__main__":
    main()
