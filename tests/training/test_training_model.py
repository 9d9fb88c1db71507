"""The model and one run of training, tiny, where PyTorch is installed: it is no dependency."""

import struct

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="training needs PyTorch, which nothing else does")

from training import shards  # noqa: E402 - reason: after the skip
from training.model import (  # noqa: E402 - reason: after the skip
    INDEX,
    SYMBOLS,
    Letters,
    collapsed,
    letters_of,
    read_weights,
    text_of,
)
from training.sound import Field, LogMel, masked, mel_bank  # noqa: E402 - reason: after the skip
from training.train import Bank, Drawer, Trainer, distance, rate_at  # noqa: E402 - reason: see above
from voicewalk.hearing import letter_model  # noqa: E402 - reason: after the skip


def test_symbols_are_those_of_the_product():
    assert SYMBOLS == letter_model.SYMBOLS
    assert text_of(letters_of("left tyre's good")) == "left tyre's good"
    assert collapsed([0, 1, 1, 0, 1, 2, 2]) == [1, 1, 2]


def test_the_bank_is_slaneys():
    """Each band has area 1 in hertz: triangles of equal area, and of width 2 / height."""
    bank = mel_bank()
    assert bank.shape == (80, 201)
    assert bank.sum(axis=1)[10:].tolist() == pytest.approx([1 / 40] * 70, rel=0.2)


def test_a_file_that_is_another_is_told(tmp_path):
    part = tmp_path / "part"
    part.write_bytes(struct.pack("<I", 6))
    with pytest.raises(ValueError, match=r"README\.md"):
        read_weights([part])


def test_what_befalls_a_clip_leaves_its_shape_and_numbers():
    torch.manual_seed(1)
    noise = (np.random.default_rng(1).standard_normal(160_000) * 2000).astype(np.int16)
    field = Field(noise, "cpu")
    clean = torch.randn(4, 32_000) * 0.1
    sound = field(clean, torch.full((4,), 32_000.0))
    assert sound.shape == clean.shape
    assert bool(torch.isfinite(sound).all())
    mel = LogMel("cpu")(sound)
    assert mel.shape == (4, 80, 200)
    assert masked(mel).shape == mel.shape


def test_a_few_steps_of_training_lower_the_loss(tmp_path):
    torch.manual_seed(1)
    random = np.random.default_rng(1)
    tone = {"yes": 300, "no": 900}
    clips = []
    for number in range(24):
        text = ("yes", "no")[number % 2]
        wave = np.sin(2 * np.pi * tone[text] * np.arange(12_000) / 16_000)
        clips.append(shards.Clip(shards.levelled(wave), "made", "a", text))
    shards.write(tmp_path / "made", clips)
    bank = Bank("cpu")
    assert bank.add(tmp_path / "made", made=True) == 24
    drawer = Drawer(bank, 16.0, set(), 1)
    noise = (random.standard_normal(160_000) * 300).astype(np.int16)
    trainer = Trainer(Letters(32, 2, 1), Field(noise, "cpu"), "cpu", 3e-3)
    losses = [float(trainer.step(drawer, 0.1)[0]) for _ in range(40)]
    assert np.mean(losses[-5:]) < 0.5 * np.mean(losses[:3])


def test_the_rate_rises_and_falls():
    assert rate_at(0, 0) < rate_at(0, 299) == pytest.approx(1)
    assert rate_at(1, 5000) == pytest.approx(0.02)


def test_distance_is_levenshteins():
    assert distance([INDEX[c] for c in "kitten"], [INDEX[c] for c in "sitting"]) == 3
