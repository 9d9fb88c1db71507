"""What the pages bring with them: one library, as it was published, and a little of our own."""

import hashlib
from pathlib import Path

import pytest

import voicewalk.review
from voicewalk.record import body as bodies

ROOT = Path(__file__).parents[2]
STATIC = Path(voicewalk.review.__file__).with_name("static")

# Of htmx.org 2.0.11, dist/htmx.min.js, as npm's registry has it.
HTMX = "d6fdc75f204e6bdefa99b69bf1e6d4ac69b8a364f77929f45c13476b4000f717"


def test_the_library_is_the_one_that_was_published():
    assert hashlib.sha256((STATIC / "htmx.min.js").read_bytes()).hexdigest() == HTMX
    assert "Zero-Clause BSD" in (STATIC / "htmx-LICENSE").read_text()
    assert "htmx 2.0.11" in (ROOT / "NOTICE").read_text()


def test_there_is_no_other_script_framework():
    ours = {path.name: path for path in STATIC.glob("*.js")}
    assert ours.keys() == {"htmx.min.js", "live.js", "play.js"}
    for name in ("live.js", "play.js"):
        assert len(ours[name].read_text().splitlines()) < 40


@pytest.mark.parametrize("path", sorted(STATIC.parent.rglob("*.html")), ids=lambda path: path.name)
def test_no_template_switches_the_escaping_off(path):
    """But for the plan drawing, which escapes every text itself."""
    text = path.read_text()
    assert "autoescape" not in text
    assert text.count("|safe") == text.count("{{ plan|safe }}")


def test_the_record_format_tells_every_kind_that_is_about_a_record():
    page = (ROOT / "docs" / "record-format.md").read_text()
    assert [kind for kind in bodies.NOT_OF_THE_WALK if f"`{kind}`" not in page] == []
