"""A head as a code to scan, so that a telephone can keep it: QR (ISO/IEC 18004).

What the head is of is told by ``record.merkle``.
"""

from __future__ import annotations

import io

import segno

_MOST = 200
"""Signs of an identity at the most: a code holds so much and no more."""


def head_code(identity: str, size: int, head: str) -> str:
    """Lines for a terminal with the head as a code: two rows of modules in one line of text.

    What it holds is plain text: what was inspected, how many entries, the head (hex).
    """
    out = io.StringIO()
    _code(identity, size, head).terminal(out, compact=True)
    return out.getvalue()


def head_svg(identity: str, size: int, head: str) -> str:
    """The same code as an SVG element."""
    return _code(identity, size, head).svg_inline(omitsize=True)


def _code(identity: str, size: int, head: str) -> segno.QRCode:
    return segno.make_qr(f"voicewalk {identity[:_MOST]} {size} {head}", error="m")
