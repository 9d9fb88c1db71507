"""Trains the listener in letters on one CUDA card, or on all of a machine under ``torchrun``.

    python -m training.train OUT.npz --base PART1 PART2 --noise NOISE.npy \
        --made STEM ... --people STEM ... [--later STEM ...] --minutes 20

CTC over letters (A. Graves et al., 2006), two views of every clip that are made to agree (Z. Yao
et al., "CR-CTC", 2024), the mean of the weights kept. Clips lie on the card as one tensor and are
gathered by index; batches have a fixed shape for each length of clip; nothing waits for Python.
Several cards draw batches of their own and step together by the mean of their gradients.
"""

from __future__ import annotations

import argparse
import math
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor, distributed
from torch.nn import functional
from torch.nn.parallel import DistributedDataParallel

from training import shards
from training.model import (
    INDEX,
    Letters,
    collapsed,
    letters_of,
    load_encoder,
    read_weights,
)
from training.sound import LEVEL, RATE, Field, LogMel, masked

EDGES = (1.2, 1.8, 2.4, 3.2, 4.2, 5.6, 7.5, 10.0)
"""Batches hold clips up to so many seconds; a batch is as long as the edge and ``AROUND``."""
AROUND = 0.8
SLOWEST, FASTEST = 0.86, 1.16
MADE_SHARE = 0.55
"""Share of made speech among the clips; the rest is people's. Within both it goes by the square
root of the hours of each source, so that three thousand read sentences do not drown a thousand
commands, nor a hundred thousand formant voices the few that sound like people."""
AGREE = 0.15
SAVED_EVERY = 2000
"""Steps: so a machine that is lost takes little with it."""
MISREAD = 0.5
"""People's clips of whose text the half-trained model hears less than half otherwise are kept."""


@dataclass(frozen=True)
class Batch:
    """Clips by index, with what is drawn for each."""

    edge: int
    ids: NDArray[np.int64]


def is_made(group: str) -> bool:
    """Whether clips of this group are made speech."""
    return group.startswith("made")


@dataclass
class Bank:
    """All clips on the card.

    Attributes:
        weight: (clips,) how often each is drawn.
    """

    device: str
    samples: list[Tensor] = field(default_factory=list)
    begins: list[int] = field(default_factory=list)
    lengths: list[int] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    groups: list[str] = field(default_factory=list)
    total: int = 0

    def add(self, stem: Path, made: bool) -> int:
        """Take up a shard; clips too short for their text or too long are left."""
        shard, kept = shards.read(stem), 0
        self.samples.append(torch.from_numpy(np.array(shard.samples)).to(self.device))
        for n, (source, _, text) in enumerate(shard.rows):
            seconds = float(shard.offsets[n + 1] - shard.offsets[n]) / RATE
            symbols = len(text.replace(" ", "")) + len(text.split())
            fits = symbols * 1.15 < seconds / FASTEST * 50 + 25
            clean = text and all(sign in INDEX or sign == " " for sign in text)
            if not clean or not fits or not 0.2 < seconds < EDGES[-1]:
                continue
            self.begins.append(self.total + int(shard.offsets[n]))
            self.lengths.append(int(shard.offsets[n + 1] - shard.offsets[n]))
            self.texts.append(text)
            self.groups.append(f"made {stem.name}" if made else source)
            kept += 1
        self.total += len(shard.samples)
        print(f"{stem.name}: {kept} of {len(shard)} clips, {shard.hours:.1f} h", flush=True)
        return kept


class Drawer:
    """Draws batches from a bank."""

    def __init__(self, bank: Bank, seconds: float, dropped: set[int], seed: int) -> None:
        self.samples = torch.cat(bank.samples)
        self.begins, self.lengths = np.array(bank.begins), np.array(bank.lengths)
        groups = np.array(bank.groups)
        hours = {g: self.lengths[groups == g].sum() / RATE / 3600 for g in np.unique(groups)}
        share = {}
        for made, part in ((True, MADE_SHARE), (False, 1 - MADE_SHARE)):
            own = {g: math.sqrt(h) for g, h in hours.items() if is_made(g) is made}
            share |= {g: part * root / sum(own.values()) for g, root in own.items()}
        counts = {g: int((groups == g).sum()) for g in hours}
        weight = np.array([share[g] / counts[g] for g in groups])
        weight[sorted(dropped)] = 0
        self._random = np.random.default_rng(seed)
        self._seconds = seconds
        symbols = [letters_of(text) for text in bank.texts]
        self.sizes = np.array([len(s) for s in symbols])
        self.targets = np.zeros((len(symbols), self.sizes.max()), np.int64)
        for n, own in enumerate(symbols):
            self.targets[n, : len(own)] = own
        # A clip goes where it fits when said slowly: its own edge or, rarely, the next.
        edge = np.searchsorted(np.array(EDGES), self.lengths / RATE)
        self._members = [np.flatnonzero((edge == e) & (weight > 0)) for e in range(len(EDGES))]
        self._sums = [np.cumsum(weight[m]) for m in self._members]
        seconds_in = [w[-1] * EDGES[e] if len(w) else 0.0 for e, w in enumerate(self._sums)]
        self._shares = np.array(seconds_in) / sum(seconds_in)
        print({g: round(s, 3) for g, s in share.items()}, flush=True)

    def draw(self) -> Batch:
        """A batch of one length of clip, with about as many seconds as every other."""
        edge = int(self._random.choice(len(EDGES), p=self._shares))
        count = max(2, int(self._seconds / (EDGES[edge] + AROUND)))
        sums = self._sums[edge]
        found = np.searchsorted(sums, self._random.random(count) * sums[-1])
        return Batch(edge, self._members[edge][np.minimum(found, len(sums) - 1)])

    def sound(self, batch: Batch, device: str, *, varied: bool = True) -> tuple[Tensor, Tensor]:
        """(clips, samples) at changed paces, each somewhere in a longer silence; their lengths."""
        lengths, size = self.lengths[batch.ids], len(batch.ids)
        room = int(EDGES[batch.edge] * RATE)
        pace = np.exp(self._random.uniform(math.log(SLOWEST), math.log(FASTEST), size))
        pace = np.where(self._random.random(size) < 0.75, pace, 1.0) if varied else np.ones(size)
        pace = np.maximum(pace, lengths / room)
        said = np.floor(lengths / pace)
        total = (room + int(AROUND * RATE)) // 320 * 320
        before = self._random.uniform(0.1, 1, size) * (total - said - 1600)
        at = torch.arange(total, device=device)[None]
        as_tensor = torch.from_numpy

        def card(values: NDArray[np.float64]) -> Tensor:
            return as_tensor(values.astype(np.float32))[:, None].to(device, non_blocking=True)

        place = (at - card(np.floor(before))) * card(pace)
        inside = (place >= 0) & (place < card(lengths - 1.0))
        whole = place.clamp(min=0).floor()
        part = place.clamp(min=0) - whole
        first = as_tensor(self.begins[batch.ids])[:, None].to(device, non_blocking=True)
        index = torch.minimum(
            first + whole.long(), torch.tensor(self.samples.numel() - 2, device=device)
        )
        low, high = self.samples[index].float(), self.samples[index + 1].float()
        sound = torch.where(inside, low + (high - low) * part, 0.0) / 32768
        return sound, as_tensor(said.astype(np.float32)).to(device, non_blocking=True)


def rate_at(share: float, step: int) -> float:
    """The learning rate as a share of the highest: a short rise, then a cosine."""
    return min(1.0, (step + 1) / 300) * (
        0.5 * (1 + math.cos(math.pi * min(1.0, share))) * 0.98 + 0.02
    )


def distance(one: list[int], other: list[int]) -> int:
    """Levenshtein's distance."""
    row = list(range(len(other) + 1))
    for n, symbol in enumerate(one):
        before, row[0] = row[0], n + 1
        for m, wanted in enumerate(other):
            before, row[m + 1] = (
                row[m + 1],
                min(row[m + 1] + 1, row[m] + 1, before + (symbol != wanted)),
            )
    return row[-1]


class Trainer:
    """One run."""

    def __init__(self, model: Letters, field_: Field, device: str, rate: float) -> None:
        self.model, self.field, self.device = model.to(device), field_, device
        self._together = (
            DistributedDataParallel(self.model) if distributed.is_initialized() else self.model
        )
        self.mel = LogMel(device)
        self.mean = {k: v.detach().clone() for k, v in model.state_dict().items()}
        head = [p for n, p in model.named_parameters() if n.startswith("head.")]
        rest = [p for n, p in model.named_parameters() if not n.startswith("head.")]
        groups = [{"params": rest, "lr": rate}, {"params": head, "lr": 4 * rate}]
        self.optimizer = torch.optim.AdamW(
            groups, weight_decay=0.01, betas=(0.9, 0.98), fused=device == "cuda"
        )
        self._rates = [group["lr"] for group in self.optimizer.param_groups]
        self.steps = 0

    def step(self, drawer: Drawer, share: float) -> tuple[Tensor, Tensor]:
        """One step; the loss by letter and the disagreement, still on the card."""
        for group, rate in zip(self.optimizer.param_groups, self._rates, strict=True):
            group["lr"] = rate * rate_at(share, self.steps)
        batch = drawer.draw()
        clean, lengths = drawer.sound(batch, self.device)
        with torch.no_grad():
            views = [masked(self.mel(self.field(clean, lengths))) for _ in range(2)]
        with torch.autocast(self.device, torch.bfloat16):
            logits = self._together(torch.cat(views), dropout=0.05)
        log_probs = functional.log_softmax(logits.float(), -1)
        sizes = torch.from_numpy(np.tile(drawer.sizes[batch.ids], 2))
        widest = int(sizes.max())
        targets = torch.from_numpy(np.tile(drawer.targets[batch.ids, :widest], (2, 1)))
        frames = torch.full((len(sizes),), log_probs.shape[1], dtype=torch.long)
        losses = functional.ctc_loss(
            log_probs.transpose(0, 1), targets.to(self.device, non_blocking=True), frames, sizes,
            blank=0, zero_infinity=True, reduction="none",
        )  # fmt: skip
        per_letter = (losses / sizes.to(self.device, non_blocking=True)).mean()
        one, other = log_probs.chunk(2)
        apart = functional.kl_div(one, other.detach(), log_target=True, reduction="sum")
        apart = apart + functional.kl_div(other, one.detach(), log_target=True, reduction="sum")
        apart = apart / float(sizes.sum())
        self.optimizer.zero_grad(set_to_none=True)
        (per_letter + AGREE * apart).backward()
        torch.nn.utils.clip_grad_norm_(self.model.parameters(), 1.0)
        self.optimizer.step()
        decay = min(0.9995, (1 + self.steps) / (10 + self.steps))
        with torch.no_grad():
            state = self.model.state_dict()
            torch._foreach_lerp_(list(self.mean.values()), list(state.values()), 1 - decay)
        self.steps += 1
        return per_letter.detach(), apart.detach()

    def save(self, out: Path) -> None:
        """Write the mean of the weights so far, as float16."""
        np.savez(out, **{name: value.half().cpu().numpy() for name, value in self.mean.items()})

    def mean_model(self) -> Letters:
        """The mean of the weights so far."""
        model = Letters().to(self.device)
        model.load_state_dict(self.mean)
        return model.eval()

    @torch.no_grad()
    def heard(
        self, drawer: Drawer, ids: NDArray[np.int64], ratio: float | None = None
    ) -> Iterator[tuple[int, list[int]]]:
        """What the mean model writes for clips, clean or with recorded noise at ``ratio`` dB."""
        model = self.mean_model()
        edges = np.searchsorted(np.array(EDGES), drawer.lengths[ids] / RATE)
        for edge in range(len(EDGES)):
            own = ids[edges == edge]
            for n in range(0, len(own), 64):
                some = own[n : n + 64]
                clean, lengths = drawer.sound(Batch(edge, some), self.device, varied=False)
                level = ((clean**2).sum(1, keepdim=True) / lengths[:, None]).sqrt()
                sound = clean / (level + 1e-6) * LEVEL
                if ratio is not None:
                    sound = sound + self.field._any_noise(sound) * LEVEL * 10 ** (-ratio / 20)
                with torch.autocast(self.device, torch.bfloat16):
                    best = model(self.mel(sound)).argmax(-1).cpu().numpy()
                for index, row in zip(some, best, strict=True):
                    yield int(index), collapsed(row.tolist())


def misread(trainer: Trainer, drawer: Drawer, bank: Bank) -> set[int]:
    """People's clips whose text is not what was said, by the model's own ear."""
    ids = np.flatnonzero(np.array([not is_made(group) for group in bank.groups]))
    wrong = set()
    for index, heard in trainer.heard(drawer, ids):
        size = drawer.sizes[index]
        target = drawer.targets[index, :size].tolist()
        if distance(heard, target) > MISREAD * size:
            wrong.add(index)
    by_source: dict[str, int] = {}
    for index in wrong:
        by_source[bank.groups[index]] = by_source.get(bank.groups[index], 0) + 1
    print("left out, misread:", by_source, flush=True)
    return wrong


def validate(trainer: Trainer, stems: list[Path], device: str) -> None:
    """Letters wrong and clips wholly right on shards kept apart, clean and in noise."""
    for stem in stems:
        bank = Bank(device)
        bank.add(stem, made=False)
        drawer = Drawer(bank, 100, set(), 1)
        for source in dict.fromkeys(bank.groups):
            ids = np.flatnonzero(np.array(bank.groups) == source)[:400]
            for ratio in (None, 10.0, 0.0):
                wrong = total = whole = 0
                for index, heard in trainer.heard(drawer, ids, ratio):
                    target = drawer.targets[index, : drawer.sizes[index]].tolist()
                    wrong += distance(heard, target)
                    total += len(target)
                    whole += heard == target
                level = "clean" if ratio is None else f"{ratio:.0f} dB"
                print(
                    f"{stem.name} {source} {level}: {len(ids)} clips, letters wrong "
                    f"{wrong / total:.4f}, whole {whole / len(ids):.3f}",
                    flush=True,
                )


class Clock:
    """How much of the time is over, the same at the same step on every card: they must stop, and
    lower their rates, together."""

    def __init__(self, begun: float, minutes: float) -> None:
        self.rank = int(os.environ.get("LOCAL_RANK", "0"))
        self._begun, self._seconds = begun, minutes * 60
        self._share = torch.zeros(1)
        if "LOCAL_RANK" in os.environ:
            cards = torch.cuda.is_available()
            distributed.init_process_group("cpu:gloo,cuda:nccl" if cards else "gloo")

    def share(self, steps: int) -> float:
        """From 0 to 1; told by the first card every ten steps."""
        if steps % 10 == 0:
            self._share[0] = (time.monotonic() - self._begun) / self._seconds
            if distributed.is_initialized():
                distributed.broadcast(self._share, 0)
        return float(self._share)


def tell(
    trainer: Trainer, out: Path, minutes: float, told: float, losses: tuple[Tensor, Tensor]
) -> float:
    """Print now and then how it goes, and save the weights; returns when it last told."""
    if trainer.steps % SAVED_EVERY == 0:
        trainer.save(out)
    if minutes - told <= 0.25:
        return told
    loss, apart = (value.item() for value in losses)
    print(f"{minutes:.2f} min, step {trainer.steps}: {loss:.3f} {apart:.3f}", flush=True)
    return minutes


def main() -> None:
    """Train, and write the mean weights as float16."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--base", type=Path, nargs="*", default=[], help="Whisper base in parts")
    parser.add_argument("--weights", type=Path, help="weights of an earlier run, instead of --base")
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--made", type=Path, nargs="+", required=True)
    parser.add_argument("--later", type=Path, nargs="*", default=[], help="made, once it is whole")
    parser.add_argument("--people", type=Path, nargs="*", default=[])
    parser.add_argument("--check", type=Path, nargs="*", default=[], help="shards kept apart")
    parser.add_argument("--minutes", type=float, required=True)
    parser.add_argument("--seconds", type=float, default=600.0, help="of sound in a batch")
    parser.add_argument("--rate", type=float, default=3e-4)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--device", default="cuda")
    chosen = parser.parse_args()
    begun = time.monotonic()
    clock = Clock(begun, chosen.minutes)
    if chosen.device == "cuda":
        torch.cuda.set_device(clock.rank)
    chosen.seed += 1000 * clock.rank
    torch.manual_seed(chosen.seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    model = Letters()
    if chosen.weights:
        with np.load(chosen.weights) as file:
            model.load_state_dict({k: torch.from_numpy(file[k].astype(np.float32)) for k in file})
    else:
        load_encoder(model, read_weights(chosen.base))
    bank = Bank(chosen.device)
    for stem in chosen.made:
        bank.add(stem, made=True)
    for stem in chosen.people:
        bank.add(stem, made=False)
    trainer = Trainer(
        model, Field(np.load(chosen.noise), chosen.device), chosen.device, chosen.rate
    )
    dropped: set[int] = set()
    drawer = Drawer(bank, chosen.seconds, dropped, chosen.seed)
    later, sifted, told = list(chosen.later), not chosen.people, 0.0
    while (share := clock.share(trainer.steps)) < 1:
        minutes = share * chosen.minutes
        loss, apart = trainer.step(drawer, share)
        if trainer.steps % 50 == 0 and any(shards.is_whole(stem) for stem in later):
            for stem in [stem for stem in later if shards.is_whole(stem)]:
                later.remove(stem)
                bank.add(stem, made=True)
            drawer = Drawer(bank, chosen.seconds, dropped, chosen.seed + trainer.steps)
        if share > 0.4 and not sifted:
            sifted = True
            dropped = misread(trainer, drawer, bank)
            drawer = Drawer(bank, chosen.seconds, dropped, chosen.seed + trainer.steps)
        if clock.rank == 0:
            told = tell(trainer, chosen.out, minutes, told, (loss, apart))
    if distributed.is_initialized():
        distributed.destroy_process_group()
    if clock.rank:
        return
    trainer.save(chosen.out)
    print(f"{trainer.steps} steps, {(time.monotonic() - begun) / 60:.1f} min", flush=True)
    validate(trainer, chosen.check, chosen.device)


if __name__ == "__main__":
    main()
