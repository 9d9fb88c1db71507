"""Setting pages: signs without a font are spelled out and said to be, nothing is markup."""

from __future__ import annotations

import io
import unicodedata

import pypdf
import pytest
import typst
from hypothesis import given, settings
from hypothesis import strategies as st

from voicewalk.errors import VoicewalkError
from voicewalk.paper import typeset as module
from voicewalk.paper.typeset import NO_FONT, spelled, typeset


@pytest.fixture
def shown(tmp_path, monkeypatch):
    """Sets one text with a template of two lines; gives what the page says."""
    (tmp_path / "one.typ").write_text(
        "#let data = json(bytes(sys.inputs.data))\n"
        '#set text(font: "Libertinus Serif", ligatures: false)\n#data.text\n\n#data.unshown\n'
    )
    monkeypatch.setattr(module, "_FOLDER", tmp_path)

    class Template:
        value = "one.typ"

    def said(text):
        pdf = typeset(Template, {"text": text}, 0)
        reader = pypdf.PdfReader(io.BytesIO(pdf))
        return " ".join("".join(one.extract_text() for one in reader.pages).split())

    return said


@pytest.mark.parametrize(
    "text",
    [
        "#let x = 1",
        "*bold* _it_ $a^2$ `raw`",
        "@label <label> ~ -- ---",
        "// comment /* comment */",
        "</text><script>alert(1)</script> &amp;",
        "= heading",
        '=HYPERLINK("http://example.invalid")',
        "fi fl ffi",
    ],
)
def test_a_text_comes_out_as_itself(shown, text):
    assert shown(text) == text


# Romanised by the Unicode Standard's own names (chapter 3.12): HANGUL SYLLABLE JWA.
def test_korean_is_shown_or_spelled_never_left_out(shown):
    said = shown("좌측")
    assert said in ("좌측", f"[jwa-ceug] {NO_FONT}")


def test_a_sign_that_no_font_has_is_given_by_its_number(shown):
    assert shown("a\U0010fffd\x1fb") == f"a[U+10FFFD-U+001F]b {NO_FONT}"


@pytest.mark.parametrize(
    ("text", "missing", "expected"),
    [
        ("left", set("l"), "[U+006C]eft"),
        ("좌측 x", set("좌측"), "[jwa-ceug] x"),
        ("a^]-b", set("^]-"), "a[U+005E-U+005D-U+002D]b"),
    ],
)
def test_runs_of_missing_signs_are_spelled_in_brackets(text, missing, expected):
    assert spelled(text, missing) == expected


@given(st.characters(min_codepoint=0xAC00, max_codepoint=0xD7A3))
def test_a_syllable_is_spelled_by_its_unicode_name(sign):
    name = unicodedata.name(sign).split()[-1].lower()
    assert spelled(sign, {sign}) == f"[{name}]"


@settings(max_examples=30)
@given(st.text(max_size=30))
def test_any_text_makes_pages(text):
    pdf = typeset(module.Template.SUMMARY, {**EMPTY, "heading": text}, 0)
    assert pdf.startswith(b"%PDF-1.7")


EMPTY = {
    **dict.fromkeys(("title", "heading", "about", "code", "caution", "plan", "plan_alt"), ""),
    **dict.fromkeys(("warnings", "facts", "discrepancies", "counts", "not_inspected"), ()),
    **dict.fromkeys(("open", "readings", "remarks", "signatures", "about_record"), ()),
    **dict.fromkeys(("stations", "trust", "unconfirmed", "confirmations"), ()),
    **dict.fromkeys(("code_alt", "entries", "head", "key", "verify"), ""),
    "blanks": {"reference": "", "fields": ()},
}


def test_the_same_data_makes_the_same_bytes():
    again = [typeset(module.Template.SUMMARY, {**EMPTY, "heading": "one"}, 7) for _ in range(2)]
    assert again[0] == again[1]


def test_a_template_that_cannot_be_set_is_told(tmp_path, monkeypatch):
    (tmp_path / "summary.typ").write_text("#panic()")
    monkeypatch.setattr(module, "_FOLDER", tmp_path)
    with pytest.raises(VoicewalkError, match="pages cannot be set"):
        typeset(module.Template.SUMMARY, {}, 0)


def test_the_fonts_are_those_that_the_typesetter_carries():
    families = typst.Fonts(include_system_fonts=False).families()
    assert {"Libertinus Serif", "DejaVu Sans Mono"} <= set(families)
