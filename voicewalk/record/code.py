"""A head as a code to scan, so that a telephone can keep it: QR (ISO/IEC 18004).

What the head is of is told by ``record.merkle``.
"""

from __future__ import annotations

import io

import segno


def head_code(identity: str, size: int, head: str) -> str:
    """Lines for a terminal with the head as a code: two rows of modules in one line of text.

    What it holds is plain text: what was inspected, how many entries, the head (hex).
    """
    code = segno.make_qr(f"voicewalk {identity} {size} {head}", error="m")
    out = io.StringIO()
    code.terminal(out, compact=True)
    return out.getvalue()
