"""What happens to a clip before it is heard, on the GPU: rooms, radios, engines, levels.

All of a batch at once, without a loop over clips. Each clip lies somewhere in a longer stretch, as
the end-of-speech detector would cut it, with noise from end to end.
"""

from __future__ import annotations

import math

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

RATE, WINDOW, HOP, BANDS = 16_000, 400, 160, 80
LEVEL = 0.05
"""Root mean square of speech before noise is added; the product scales clips to the same."""

BABBLE = 0.5
"""Strength of other people's talk against that of other noise: somebody who speaks as loud as the
speaker is to be written too (see ``joined.py``)."""


def mel_bank() -> NDArray[np.float32]:
    """(80, 201): Slaney's mel bands of equal area, as Whisper takes them (M. Slaney, "Auditory
    Toolbox", 1998: linear below 1 kHz, logarithmic above)."""

    def mel(hertz: float) -> float:
        return hertz * 3 / 200 if hertz < 1000 else 15 + math.log(hertz / 1000) * 27 / math.log(6.4)

    steps = np.linspace(mel(0), mel(RATE / 2), BANDS + 2)
    hertz = np.where(steps >= 15, 1000 * np.exp(np.log(6.4) / 27 * (steps - 15)), steps * 200 / 3)
    bins = np.linspace(0, RATE / 2, WINDOW // 2 + 1)
    width = np.diff(hertz)
    ramps = hertz[:, None] - bins[None]
    lower, upper = -ramps[:-2] / width[:-1, None], ramps[2:] / width[1:, None]
    area = 2 / (hertz[2:] - hertz[:-2])
    return (np.maximum(0, np.minimum(lower, upper)) * area[:, None]).astype(np.float32)


class LogMel:
    """(batch, samples) to (batch, 80, samples / 160): Whisper's features."""

    def __init__(self, device: str) -> None:
        self._bank = torch.from_numpy(mel_bank()).to(device)
        self._window = torch.hann_window(WINDOW, device=device)

    def __call__(self, samples: Tensor) -> Tensor:
        """As the class says."""
        spectrum = torch.stft(samples, WINDOW, HOP, window=self._window, return_complex=True)
        power = spectrum[..., :-1].abs() ** 2
        level = torch.clamp(self._bank @ power, min=1e-10).log10()
        level = torch.maximum(level, level.amax((1, 2), keepdim=True) - 8)
        return (level + 4) / 4


def masked(mel: Tensor) -> Tensor:
    """Bands and stretches of time left out (D. Park et al., "SpecAugment", 2019)."""
    batch, bands, frames = mel.shape
    device, mean = mel.device, mel.mean((1, 2), keepdim=True)
    for axis, count, most in ((bands, 2, 14), (frames, 3, 18)):
        steps = torch.arange(axis, device=device)[None]
        for _ in range(count):
            width = torch.randint(0, most, (batch, 1), device=device)
            first = (torch.rand(batch, 1, device=device) * (axis - width)).long()
            hidden = (steps >= first) & (steps < first + width)
            mel = torch.where(hidden[:, :, None] if axis == bands else hidden[:, None], mean, mel)
    return mel


class Field:
    """The outdoors: makes a clean clip sound as it would through a headset on a flight line.

    Args:
        noise: real noise, 16-bit, as one long clip.
    """

    def __init__(self, noise: NDArray[np.int16], device: str) -> None:
        self._noise = torch.from_numpy(noise.copy()).to(device)
        self._device = device

    def _random(self, batch: int) -> Tensor:
        return torch.rand(batch, 1, device=self._device)

    def __call__(self, clean: Tensor, lengths: Tensor) -> Tensor:
        """(batch, samples), of which ``lengths`` are speech, with everything that befalls it."""
        batch, _samples = clean.shape
        chance = self._random
        speech = self._room(self._microphone(clean))
        energy = (speech**2).sum(1, keepdim=True) / lengths[:, None].clamp(min=1600)
        speech = speech / (energy.sqrt() + 1e-6) * LEVEL
        ratio = torch.where(chance(batch) < 0.15, 40.0, -6 + 30 * chance(batch))
        sound = speech + self._any_noise(speech) * LEVEL * 10 ** (-ratio / 20)
        clips, most = chance(batch) < 0.08, 0.04 + 0.15 * chance(batch)
        sound = torch.where(clips, torch.minimum(torch.maximum(sound, -most), most), sound)
        level = (torch.randn(batch, 1, device=self._device) * 8).clamp(-24, 16)
        return sound * 10 ** (level / 20)

    def _microphone(self, clean: Tensor) -> Tensor:
        """An uneven response; of one in five the band of a telephone or radio."""
        batch, samples = clean.shape
        spectrum = torch.fft.rfft(clean)
        place = torch.linspace(0, 1, spectrum.shape[1], device=self._device)[None]
        curve = torch.zeros_like(place).expand(batch, -1)
        for wave in range(1, 5):
            height = torch.randn(batch, 1, device=self._device) * 5 / wave
            curve = curve + height * torch.cos(math.pi * wave * place)
        spectrum = spectrum * 10 ** (curve * (self._random(batch) < 0.6) / 20)
        low, high = 200 + 200 * self._random(batch), 3000 + 1500 * self._random(batch)
        hertz = place * RATE / 2
        radio = (self._random(batch) < 0.2) & ((hertz < low) | (hertz > high))
        return torch.fft.irfft(torch.where(radio, spectrum * 0.02, spectrum), n=samples)

    def _room(self, speech: Tensor) -> Tensor:
        """A third of the clips in a wheel well or a hangar: decaying noise as the response."""
        batch, samples = speech.shape
        length = int(RATE * 0.35)
        seconds = torch.arange(length, device=self._device) / RATE
        decay = 0.08 + 0.5 * self._random(batch) ** 2
        strength = 0.02 + 0.1 * self._random(batch)
        response = torch.randn(batch, length, device=self._device)
        response = response * torch.exp(-6.9 * seconds / decay) * strength
        response[:, 0] = 1.0
        size = samples + length
        wet = torch.fft.irfft(
            torch.fft.rfft(speech, n=size) * torch.fft.rfft(response, n=size), n=size
        )
        return torch.where(self._random(batch) < 0.35, wet[:, :samples], speech)

    def _any_noise(self, speech: Tensor) -> Tensor:
        """Recorded, computed, other people of the batch, or two of them; of strength 1, but for
        the people."""
        batch, samples = speech.shape
        first = torch.randint(0, self._noise.numel() - samples, (batch, 1), device=self._device)
        steps = torch.arange(samples, device=self._device)[None]
        real = _even(self._noise[first + steps].float())
        computed = _even(self._computed(batch, samples))
        shifts = {max(1, batch // 5), max(1, batch // 3), max(1, batch // 2)}
        others = sum((torch.roll(speech, n, 0) for n in shifts), torch.zeros_like(speech))
        people = BABBLE * _even(others)
        kind = self._random(batch)
        mixed = torch.where(kind < 0.93, people, 0.7 * real + 0.7 * computed)
        return torch.where(kind < 0.55, real, torch.where(kind < 0.85, computed, mixed))

    def _computed(self, batch: int, samples: int) -> Tensor:
        """Turbines, compressors, wind: shaped noise, bands of it, whining tones, throbbing."""
        device, chance = self._device, self._random
        hertz = torch.fft.rfftfreq(samples, 1 / RATE).to(device)[None]
        slope = chance(batch) * 2.2
        spectrum = torch.randn(batch, hertz.shape[1], dtype=torch.cfloat, device=device)
        spectrum = spectrum / hertz.clamp(min=20) ** (slope / 2)
        low = chance(batch) * 1500
        band = (hertz > low) & (hertz < low + 300 + chance(batch) * 6000)
        spectrum = torch.where(chance(batch) < 0.3, spectrum * band, spectrum)
        noise = _even(torch.fft.irfft(spectrum, n=samples))
        seconds = torch.arange(samples, device=device)[None] / RATE
        tones = torch.zeros_like(noise)
        for _ in range(4):
            pitch = 60 + chance(batch) ** 2 * 3500
            slow = 0.3 + 3 * chance(batch)
            # A tone whose pitch sways by 2 %: the phase is the integral of the pitch.
            phase = pitch * (
                seconds - 0.02 / (2 * math.pi * slow) * torch.cos(2 * math.pi * slow * seconds)
            )
            tones = tones + chance(batch) * torch.sin(2 * math.pi * phase)
        whine = chance(batch) * (chance(batch) < 0.5)
        throb = chance(batch) * (chance(batch) < 0.4)
        beat = 1 + throb * torch.sin(2 * math.pi * (1 + 25 * chance(batch)) * seconds)
        return (noise + whine * tones) * beat


def _even(noise: Tensor) -> Tensor:
    return noise / (noise.std(1, keepdim=True) + 1e-6)
