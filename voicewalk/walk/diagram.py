"""The transition table as a drawing (Mermaid) and as a table (Markdown), for docs/walk.md.

``script/draw_walk.py`` writes them there; a test checks that they are still so.
"""

from __future__ import annotations

from collections.abc import Mapping

from voicewalk.walk.memory import WalkState
from voicewalk.walk.table import Cue, Row

Table = Mapping[tuple[WalkState, Cue], Row]


def mermaid(table: Table) -> str:
    """The states and what leads from one to another; what leads nowhere else is left out."""
    lines = ["stateDiagram-v2", f"    [*] --> {_id(WalkState.NEW)}"]
    for source in WalkState:
        for target in WalkState:
            cues = [c for (state, c), row in table.items() if state is source and target in row.to]
            if cues and source is not target:
                lines.append(f"    {_id(source)} --> {_id(target)}: {', '.join(cues)}")
    return "\n".join([*lines, f"    {_id(WalkState.CLOSED)} --> [*]"])


def markdown(table: Table) -> str:
    """What comes in, what is done, what follows; cues of which the same holds share a line."""
    shared: dict[tuple[WalkState, Row], list[Cue]] = {}
    for state in WalkState:
        for cue in Cue:
            if (state, cue) in table:
                shared.setdefault((state, table[state, cue]), []).append(cue)
    lines = ["| state | what comes in | what is done | then |", "|---|---|---|---|"]
    for (state, row), cues in shared.items():
        lines.append(f"| {state} | {', '.join(cues)} | {_done(row)} | {_then(row)} |")
    return "\n".join(lines)


def _id(state: WalkState) -> str:
    return state.name.lower()


def _done(row: Row) -> str:
    """The first sentence of the handler's docstring."""
    text = " ".join((row.handler.__doc__ or "").split())
    return text.split(". ")[0].rstrip(".") + "."


def _then(row: Row) -> str:
    return ", ".join(state.value for state in WalkState if state in row.to)
