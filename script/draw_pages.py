"""Draws the lead's pages, as Debian's chromium shows them, for docs/review.md.

    .venv/bin/python script/draw_pages.py

The walks are those of tests/review: typed ones, and one by sound from recorded calls, which takes
the speech models a minute. Pictures go to docs/pages, each below 150 kB.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "review"))
OUT = ROOT / "docs" / "pages"
MOST_BYTES = 150_000
ARGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-lcd-text"]

WIDE, NARROW = 1000, 320
# name, path, width, height, light
PICTURES = (
    ("first", "/", WIDE, 860, "light"),
    ("first-narrow", "/", NARROW, 900, "dark"),
    ("walk", "/walk/sound", WIDE, 1000, "light"),
    ("walk-answers", "/walk/sound#answers", WIDE, 1000, "light"),
    ("walk-stations", "/walk/sound#time", WIDE, 1000, "dark"),
    ("walk-narrow", "/walk/sound", NARROW, 1000, "light"),
    ("entry", "/walk/sound/entry/14", WIDE, 1000, "light"),
    ("entry-narrow", "/walk/sound/entry/14", NARROW, 1000, "dark"),
    ("live", "/walk/now/live", WIDE, 900, "light"),
    ("live-narrow", "/walk/now/live", NARROW, 900, "dark"),
    ("door", "/door", NARROW, 420, "light"),
)


def main() -> None:
    """Make the walks, serve them, take the pictures."""
    with tempfile.TemporaryDirectory() as place:
        os.environ["VOICEWALK_KEYS"] = f"{place}/keys"
        folder = Path(place) / "records"
        folder.mkdir()
        _walks(folder)
        shutil.rmtree(OUT, ignore_errors=True)
        OUT.mkdir(parents=True)
        with _pages(folder) as url, sync_playwright() as player:
            browser = player.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
            with browser.new_context() as first:
                first.new_page().goto(url)
                for picture in PICTURES:
                    _draw(browser, first, url.partition("/door")[0], *picture)


def _walks(folder: Path) -> None:
    """A morning's walks: twelve aircraft, one of them with a critical finding."""
    from review_sound import walk_by_sound
    from review_walks import CLOSE, GOOD, but, typed

    for n, name in enumerate(("M02", "M04", "M08", "M09", "M13", "M16")):
        typed(folder / f"{name.lower()}.walk", (*GOOD, CLOSE), name, f"06:0{n}", "Ivo Brandt")
    pressure = but(left_main_tyre_pressure="left main tyre pressure one nine zero psi")
    typed(folder / "m07.walk", (*pressure, CLOSE), "M07", "06:20")
    chocks = but(wheel_chocks="wheel chocks not in place")
    typed(folder / "m12.walk", (*chocks, CLOSE), "M12", "06:24")
    antenna = but(upper_antenna="upper antenna not inspected because no stand")
    typed(folder / "m03.walk", (*antenna, CLOSE), "M03", "06:26")
    typed(folder / "m11.walk", GOOD[:5], "M11", "06:28", "Ivo Brandt")
    walk_by_sound(folder / "sound.walk", "M05", "06:30")
    calls = (*GOOD[:4], "left main tyre cut half an inch outboard", GOOD[5])
    typed(folder / "now.walk", calls, "M20", "06:40")
    (folder / "now.walk-lock").touch()  # as if it were still going on


@contextmanager
def _pages(folder: Path) -> Iterator[str]:
    """The link that lets a lead in."""
    from review_server import served
    from review_walks import LEAD

    from voicewalk.record.keys import make_key
    from voicewalk.record.signing import Role
    from voicewalk.review.sessions import Person

    key = folder.parent / "lead.pem"
    make_key(key, "a long way round")
    with served(folder, Person(LEAD, Role.LEAD, str(key))) as running:
        yield running.link()


def _draw(
    browser: Browser,
    first: BrowserContext,
    url: str,
    name: str,
    path: str,
    width: int,
    height: int,
    light: str,
) -> None:
    outside = path == "/door"
    context = browser.new_context(
        storage_state=None if outside else first.storage_state(),
        viewport={"width": width, "height": height},
        color_scheme="dark" if light == "dark" else "light",
    )
    with context:
        page = context.new_page()
        page.goto(url + path)
        page.wait_for_timeout(600)  # sounds tell their length
        if path == "/":
            page.wait_for_selector(".waiting", state="detached")
        file = OUT / f"{name}.png"
        page.screenshot(path=file)
    size = file.stat().st_size
    print(f"{file.relative_to(ROOT)}: {size / 1000:.0f} kB")
    if size >= MOST_BYTES:
        raise SystemExit(f"{file} is too large: show less of the page")


if __name__ == "__main__":
    main()
