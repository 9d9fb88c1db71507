#!/usr/bin/env python3
"""Draws the judge's reliability from its calibration file as SVG.

Run by the project's own Python: .venv/bin/python script/draw_reliability.py >docs/reliability.svg
Across: how likely the judge held a tenth of the hearings to be right, on speakers it was not
fitted on. Up: how many of them were. On the diagonal both are the same.
"""

import json

from voicewalk.hearing.calibration import CALIBRATION

SIDE, EDGE, INK = 320, 48, "#333333"


def x_of(share: float) -> float:
    """Where a share lies across."""
    return EDGE + share * SIDE


def y_of(share: float) -> float:
    """Where a share lies, upwards."""
    return EDGE + (1 - share) * SIDE


def text(x: float, y: float, words: str, more: str = "") -> str:
    """A line of text, its middle at ``x``."""
    return f'<text x="{x:.0f}" y="{y:.0f}" text-anchor="middle" {more}>{words}</text>'


def main() -> None:
    """Print the picture."""
    learnt = json.loads(CALIBRATION.read_text(encoding="utf-8"))["learnt from"]
    bins = learnt["reliability, speakers held out"]
    error = learnt["expected calibration error, speakers held out"]
    size = SIDE + 2 * EDGE
    middle = EDGE + SIDE / 2
    print(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" '
        f'font-family="sans-serif" font-size="12" fill="{INK}" stroke-width="1">'
    )
    print(f'<rect width="{size}" height="{size}" fill="white"/>')
    print(
        f'<rect x="{EDGE}" y="{EDGE}" width="{SIDE}" height="{SIDE}" fill="none" stroke="{INK}"/>'
    )
    print(
        f'<path d="M{x_of(0)} {y_of(0)}L{x_of(1)} {y_of(1)}" stroke="#999999" '
        'stroke-dasharray="4 4"/>'
    )
    for tick in (0, 0.25, 0.5, 0.75, 1):
        print(text(x_of(tick), EDGE + SIDE + 16, f"{tick:g}"))
        print(text(EDGE - 20, y_of(tick) + 4, f"{tick:g}"))
    points = [(x_of(said), y_of(was)) for _, said, was in bins]
    line = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    print(f'<path d="M{line}" fill="none" stroke="{INK}"/>')
    for x, y in points:
        print(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4"/>')
    print(text(middle, EDGE + SIDE + 36, "probability the judge gave"))
    print(text(14, middle, "share that was right", f'transform="rotate(-90 14 {middle:.0f})"'))
    hearings, speakers = learnt["hearings"], learnt["speakers"]
    print(
        text(
            middle,
            26,
            f"{hearings} hearings, {speakers} speakers, held out: expected error {error:.3f}",
        )
    )
    print("</svg>")


if __name__ == "__main__":
    main()
