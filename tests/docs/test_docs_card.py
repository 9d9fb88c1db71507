"""docs/card.md names every key that a card may have, and its example is a card."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from voicewalk.card import written
from voicewalk.card.load import load_card

TEXT = (Path(__file__).parents[2] / "docs" / "card.md").read_text(encoding="utf-8")
NAMED = set(re.findall(r"`(\w+)`", TEXT))


def shapes() -> list[type[BaseModel]]:
    found = (getattr(written, name) for name in dir(written) if name.startswith("Written"))
    return [one for one in found if isinstance(one, type) and issubclass(one, BaseModel)]


@pytest.mark.parametrize("shape", shapes(), ids=lambda shape: shape.__name__)
def test_every_key_is_told(shape: type[BaseModel]):
    assert set(shape.model_fields) - NAMED == set()


def test_the_example_is_a_card(tmp_path: Path):
    (example,) = re.findall(r"```yaml\n(.*?)```", TEXT, re.S)
    path = tmp_path / "pump-room.yaml"
    path.write_text(example, encoding="utf-8")
    assert [item.name for item in load_card(path)] == ["door", "oil pressure", "pump"]
