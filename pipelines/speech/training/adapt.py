# mypy: ignore-errors
"""Learn a low-rank update of the speech weights from drawn sentences under drawn noise.

    python -m pipelines.speech.training.adapt DATA OUT --minutes 12

``DATA`` holds the files of ``pack``, the shards of ``clips`` and ``noise.ogg``; the update goes to
``OUT/update.npz``.
Needs PyTorch with a GPU and soundfile; nothing of the program itself needs either.
"""

import argparse
import json
import math
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile
import torch
from torch import Tensor
from torch.nn import functional as F

from pipelines.speech.training.mixing import Mixer
from pipelines.speech.training.whisper import Whisper, load_packed

STYLES = ("words", "digits")
MOST_S = 14.0
_LONGEST_PROMPT = 190
_NOISE_ONLY = 0.04


@dataclass(frozen=True)
class Clip:
    """One spoken sentence.

    Attributes:
        at: first sample in the row of all clips.
        length: samples.
        run: the clips of one voice.
        tokens: by style.
    """

    at: int
    length: int
    run: str
    tokens: dict[str, list[int]]


def load_sound(path: Path) -> npt.NDArray[Any]:
    """A file as 16-bit samples."""
    samples, rate = soundfile.read(path, dtype="int16")
    if rate != 16_000:
        raise ValueError(f"{path} plays at {rate} Hz")
    return np.asarray(samples)


def load_clips(data: Path) -> tuple[npt.NDArray[Any], list[Clip], dict[str, Any]]:
    """All sound in a row, the clips, and the special tokens and prompts."""
    packed = json.loads((data / "clips.json").read_text(encoding="utf-8"))
    shards = sorted(data.glob("[0-9]*.ogg"))
    with ThreadPoolExecutor(16) as pool:
        sounds = list(pool.map(load_sound, shards))
    starts = dict(zip((int(p.stem) for p in shards), np.cumsum([0, *(len(s) for s in sounds)]), strict=False))
    clips = [
        Clip(int(starts[shard]) + at, length, f"{shard}-{run}", dict(zip(STYLES, tokens, strict=True)))
        for shard, at, length, run, *tokens in packed["clips"]
        if shard in starts
    ]
    return np.concatenate(sounds), clips, packed


class Lessons:
    """Draws batches: sound of windows, tokens, and what is to be learnt at each token."""

    def __init__(self, clips: list[Clip], packed: dict[str, Any], seed: int) -> None:
        """Keep the clips by runs."""
        self.rng = Random(seed)  # noqa: S311 - draws lessons
        self.special, self.prompts = packed["special"], packed["prompts"]
        self.clips = clips
        runs: dict[str, list[Clip]] = {}
        for clip in clips:
            runs.setdefault(clip.run, []).append(clip)
        self.runs = list(runs.values())

    def window(self) -> list[Clip]:
        """Some sentences of one voice, at most ``MOST_S`` seconds with their pauses."""
        chosen: list[Clip] = []
        left = MOST_S * 16_000
        run = self.rng.choice(self.runs)
        for clip in self.rng.sample(run, min(len(run), self.rng.choice((1, 1, 2, 2, 3, 3, 4, 5, 6)))):
            if clip.length + 16_000 > left:
                break
            chosen.append(clip)
            left -= clip.length + 8_000
        return chosen or [min(run, key=lambda c: c.length)]

    def _prompt(self, style: str) -> list[int]:
        """The program's own prompt mostly; else sentences of the same style, else nothing."""
        roll = self.rng.random()
        if roll < 0.6:
            return list(self.prompts[style])
        ids: list[int] = []
        while roll < 0.9 and len(ids) < self.rng.randint(20, 120):
            ids += self.rng.choice(self.clips).tokens[style]
        return ids[:_LONGEST_PROMPT]

    def tokens(self, window: list[Clip]) -> tuple[list[int], list[int]]:
        """Token numbers of a window, and for each the next one where it is learnt, else -100."""
        special = self.special
        style = self.rng.choice(STYLES)
        prompt = self._prompt(style)
        lead = [special["startofprev"], *prompt] if prompt else []
        text = [token for clip in window for token in clip.tokens[style]]
        start = [special["startoftranscript"], special["en"], special["transcribe"], special["notimestamps"]]
        ids = [*lead, *start, *text]
        second = special["en"] if window else special["nospeech"]
        goals = [-100] * len(lead) + [second, -100, -100] + [*text, special["endoftext"]]
        return ids, goals

    def batch(self, size: int) -> tuple[list[list[Clip]], Tensor, Tensor]:
        """Windows, their tokens and goals, padded."""
        windows = [[] if self.rng.random() < _NOISE_ONLY else self.window() for _ in range(size)]
        rows = [self.tokens(window) for window in windows]
        longest = max(len(ids) for ids, _ in rows)
        ids = torch.tensor([r + [self.special["endoftext"]] * (longest - len(r)) for r, _ in rows])
        goals = torch.tensor([g + [-100] * (longest - len(g)) for _, g in rows])
        return windows, ids, goals


def loss_of(model: Whisper, mel: Tensor, ids: Tensor, goals: Tensor) -> Tensor:
    """Mean cross entropy over the tokens to be learnt, in nats."""
    with torch.autocast(mel.device.type, torch.bfloat16):
        states = model.decode(ids, model.encode(mel.to(torch.bfloat16)))
        learnt = goals >= 0
        logits = model.logits(states[learnt])
    return F.cross_entropy(logits.float(), goals[learnt])


@torch.no_grad()
def judged(model: Whisper, lessons: Lessons, mixer: Mixer, size: int) -> str:
    """Loss on kept-back clips at fixed ratios of speech to noise."""
    told = []
    for snr in (30.0, 10.0, 5.0, 0.0):
        lessons.rng.seed(5)
        mixer.reset(5)
        windows, ids, goals = lessons.batch(size)
        mel = mixer.features(windows, snr)
        told.append(f"{snr:.0f} dB {loss_of(model, mel, ids.to(mel.device), goals.to(mel.device)):.3f}")
    return ", ".join(told)


def rate_at(share: float, peak: float) -> float:
    """Learning rate: a short warm-up, then half a cosine to zero."""
    return peak * min(1.0, share / 0.03) * 0.5 * (1 + math.cos(math.pi * min(1.0, share)))


def optimiser_of(model: Whisper, rate: float) -> torch.optim.Optimizer:
    """AdamW; the shifts of vectors are not drawn to zero."""
    matrices = [*model.down.parameters(), *model.up.parameters()]
    groups = [
        {"params": matrices, "weight_decay": 0.01},
        {"params": list(model.shift.parameters()), "weight_decay": 0.0},
    ]
    return torch.optim.AdamW(groups, lr=rate, betas=(0.9, 0.98))


def train(model: Whisper, lessons: Lessons, mixer: Mixer, arguments: argparse.Namespace) -> Iterator[int]:
    """Learn until the time is up; yields the number of each step done."""
    optimiser = optimiser_of(model, arguments.rate)
    began, step, running = time.monotonic(), 0, 0.0
    while (share := (time.monotonic() - began) / (60 * arguments.minutes)) < 1 and step < arguments.steps:
        for group in optimiser.param_groups:
            group["lr"] = rate_at(share, arguments.rate)
        windows, ids, goals = lessons.batch(arguments.batch)
        loss = loss_of(model, mixer.features(windows), ids.to(mixer.device), goals.to(mixer.device))
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(model.parameters(), 1.0)
        optimiser.step()
        step += 1
        running += (float(loss.detach()) - running) / min(step, 100)
        if step % 200 == 0:
            print(f"step {step}, {share:.2f} of the time, loss {running:.3f}", flush=True)
        yield step


def learn(arguments: argparse.Namespace) -> None:
    """Train until the time is up, and write the update."""
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(arguments.seed)
    torch.set_float32_matmul_precision("high")
    sound, clips, packed = load_clips(arguments.data)
    noise, mel = load_sound(arguments.data / "noise.ogg"), np.load(arguments.data / "mel.npy")
    kept = {clip.run for clip in clips[-arguments.kept :]}
    mixer = Mixer(sound, noise, mel, device, arguments.seed)
    judge = Mixer(sound, noise, mel, device, 5)
    lessons = Lessons([c for c in clips if c.run not in kept], packed, arguments.seed)
    check = Lessons([c for c in clips if c.run in kept], packed, 5)
    model = Whisper(load_packed(arguments.data, device), arguments.rank).to(device)
    if arguments.resume:
        with np.load(arguments.resume) as earlier:
            model.resume(dict(earlier))
    arguments.out.mkdir(parents=True, exist_ok=True)
    print(f"{len(lessons.clips)} clips; before: {judged(model, check, judge, arguments.judge)}", flush=True)
    for step in train(model, lessons, mixer, arguments):
        if step % 1000 == 0:
            print(judged(model, check, judge, arguments.judge), flush=True)
            np.savez(arguments.out / "update.npz", **model.update())
    print(f"after: {judged(model, check, judge, arguments.judge)}", flush=True)
    np.savez(arguments.out / "update.npz", **model.update())


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description="Learn a low-rank update of the speech weights.")
    parser.add_argument("data", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--resume", type=Path, help="an earlier update to go on from")
    parser.add_argument("--minutes", type=float, default=12)
    parser.add_argument("--steps", type=int, default=10**9)
    parser.add_argument("--batch", type=int, default=96)
    parser.add_argument("--rank", type=int, default=32)
    parser.add_argument("--rate", type=float, default=1e-3)
    parser.add_argument("--judge", type=int, default=48)
    parser.add_argument("--kept", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    learn(parser.parse_args())


if __name__ == "__main__":
    main()
