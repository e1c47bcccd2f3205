# mypy: ignore-errors
"""Train one network on examples drawn as it learns, and write it as ONNX.

Example, on a machine with a GPU::

    python3 -m pipelines.displays.training.train locate --minutes 8 --workers 14 --out weights
"""

import argparse
import copy
import math
import time
from pathlib import Path

import cv2
import numpy as np
import torch
from torch.utils.data import DataLoader, IterableDataset

from pipelines.displays.alphabet import CHARACTERS, SHEET_SIZE, STRIP_HEIGHT, STRIP_WIDTH, WORD_SIZE
from pipelines.displays.training.export import shrink
from pipelines.displays.training.lessons import scene_lesson, strip_lessons
from pipelines.displays.training.networks import (
    Locator,
    Reader,
    UnitFinder,
    WordReader,
    locator_loss,
    unit_loss,
)
from pipelines.displays.training.unit_lessons import sheet_lesson, word_lesson

PARTS = {"locate": Locator, "read": Reader, "unit": UnitFinder, "word": WordReader}
BATCH = {"locate": 48, "read": 256, "unit": 48, "word": 256}
MOST_CHARACTERS = 16
REPORT = 100


class Lessons(IterableDataset):
    """An endless stream of drawn examples; every worker has a seed of its own."""

    def __init__(self, part: str, seed: int):
        self.part, self.seed = part, seed

    def __iter__(self):
        """Examples as tuples of arrays."""
        cv2.setNumThreads(1)
        info = torch.utils.data.get_worker_info()
        rng = np.random.default_rng([self.seed, info.id if info else 0])
        while True:
            if self.part == "locate":
                scene = scene_lesson(rng)
                yield scene.picture, scene.quads, scene.owner, scene.window
            elif self.part == "read":
                for picture, width, text in strip_lessons(rng):
                    codes = np.zeros(MOST_CHARACTERS, np.int64)
                    codes[: len(text)] = [CHARACTERS.index(c) + 1 for c in text]
                    yield picture, width, codes, len(text)
            elif self.part == "unit":
                yield sheet_lesson(rng)
            else:
                yield word_lesson(rng)


def pixels(pictures: torch.Tensor) -> torch.Tensor:
    """Pictures as the locator wants them."""
    return pictures.permute(0, 3, 1, 2).float() / 127.5 - 1


def standard(pictures: torch.Tensor, widths: torch.Tensor | None = None) -> torch.Tensor:
    """Pictures with mean 0 and deviation about 1; what lies behind a picture's width is 0."""
    x = pictures.permute(0, 3, 1, 2).float()
    if widths is None:
        mean, deviation = x.mean((1, 2, 3), keepdim=True), x.std((1, 2, 3), keepdim=True)
        return (x - mean) / (deviation + 4)
    inside = (torch.arange(x.shape[3], device=x.device)[None] < widths[:, None]).float()[:, None, None]
    count = inside.sum(3, keepdim=True) * x.shape[1] * x.shape[2]
    mean = (x * inside).sum((1, 2, 3), keepdim=True) / count
    deviation = (((x - mean) * inside) ** 2).sum((1, 2, 3), keepdim=True).div(count).sqrt()
    return (x - mean) / (deviation + 4) * inside


def loss_of(part: str, net, batch) -> torch.Tensor:
    """Loss of one batch that is already on the device."""
    if part == "locate":
        picture, quads, owner, window = batch
        return locator_loss(net(pixels(picture)), quads, owner, window)
    if part == "word":
        picture, kind = batch
        return torch.nn.functional.cross_entropy(net(standard(picture)).float(), kind)
    if part == "unit":
        picture, classes = batch
        return unit_loss(net(standard(picture)), classes)
    picture, width, codes, length = batch
    out = net(standard(picture, width)).float()
    steps = (width + 3) // 4
    ctc = torch.nn.functional.ctc_loss(
        out.transpose(0, 1), codes, steps, length, zero_infinity=True, reduction="none"
    )
    return (ctc / (length.float() + 1)).mean()


@torch.no_grad()
def grade(part: str, net, batches) -> float:
    """Share right on fresh examples: whole strings, unit pixels, or overlap of digit areas."""
    right = total = 0.0
    for batch in batches:
        if part == "read":
            picture, width, codes, length = batch
            best = net(standard(picture, width)).argmax(2).cpu()
            for row, want, size, steps in zip(
                best, codes.cpu(), length.cpu(), ((width + 3) // 4).cpu(), strict=True
            ):
                said = torch.unique_consecutive(row[:steps])
                said = said[said > 0]
                right += len(said) == size and bool((said == want[:size]).all())
                total += 1
        elif part == "word":
            picture, kind = batch
            right += (net(standard(picture)).argmax(1) == kind).sum().item()
            total += len(kind)
        elif part == "unit":
            picture, classes = batch
            some = (classes > 0) & (classes < 255)
            right += (net(standard(picture)).argmax(1)[some] == classes[some]).sum().item()
            total += some.sum().item()
        else:
            picture, _, owner, _ = batch
            given, want = net(pixels(picture))[:, 0] > 0, owner > 0
            right += (given & want).sum().item()
            total += (given | want).sum().item()
    return right / max(total, 1)


@torch.no_grad()
def follow(average, net, keep: float) -> None:
    """Move the averaged weights a little towards the present ones."""
    torch._foreach_lerp_(list(average.parameters()), list(net.parameters()), 1 - keep)
    for mean, now in zip(average.buffers(), net.buffers(), strict=True):
        mean.copy_(now)


def export(part: str, net, path: Path) -> None:
    """Write the network as ONNX with weights in half precision."""
    size = {"locate": (512, 512), "read": (STRIP_HEIGHT, STRIP_WIDTH), "unit": SHEET_SIZE, "word": WORD_SIZE}[
        part
    ]
    axes = {"locate": {0: "batch", 2: "height", 3: "width"}, "read": {0: "batch", 3: "width"}}
    example = torch.zeros(1, 3, *size)
    torch.onnx.export(
        net.eval().cpu().float(),
        example,
        str(path),
        input_names=["pixels"],
        output_names=["out"],
        dynamic_axes={"pixels": axes.get(part, {0: "batch"}), "out": {0: "batch"}},
        opset_version=17,
        dynamo=False,
    )
    shrink(path)


def train(part: str, minutes: float, workers: int, seed: int, resume: Path | None, rate: float):
    """Train until the time is up; returns the averaged network and the number of examples seen."""
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    net = PARTS[part]()
    if resume is not None:
        net.load_state_dict(torch.load(resume, map_location="cpu"))
    net = net.to(device, memory_format=torch.channels_last)
    average = copy.deepcopy(net)
    optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=0.01)
    loader = DataLoader(
        Lessons(part, seed), BATCH[part], num_workers=workers, prefetch_factor=4 if workers else None
    )
    begun, step, sum_loss, waited, mark = time.monotonic(), 0, 0.0, 0.0, time.monotonic()
    for batch in loader:
        waited += time.monotonic() - mark
        gone = (time.monotonic() - begun) / (minutes * 60)
        if gone >= 1:
            break
        for group in optimiser.param_groups:
            group["lr"] = (
                rate * min(1.0, (step + 1) / 200) * (0.01 + 0.99 * (0.5 + 0.5 * math.cos(math.pi * gone)))
            )
        batch = [item.to(device, non_blocking=True) for item in batch]
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            loss = loss_of(part, net, batch)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        optimiser.step()
        follow(average, net, min(0.999, step / (step + 20)))
        step, sum_loss = step + 1, sum_loss + loss.item()
        mark = time.monotonic()
        if step % REPORT == 0:
            took = mark - begun
            print(
                f"{part} step {step} share {gone:.2f} loss {sum_loss / REPORT:.4f} "
                f"waited {waited:.0f} of {took:.0f} s",
                flush=True,
            )
            sum_loss = 0.0
    final = average.eval()
    fresh = iter(DataLoader(Lessons(part, seed + 10**6), BATCH[part], num_workers=min(workers, 4)))
    batches = [[item.to(device) for item in next(fresh)] for _ in range(8 if workers else 1)]
    print(f"{part} examples {step * BATCH[part]} grade {grade(part, final, batches):.4f}", flush=True)
    return final


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("part", choices=sorted(PARTS))
    parser.add_argument("--minutes", type=float, default=8)
    parser.add_argument("--workers", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--resume", type=Path, help="a .pt file of an earlier run")
    parser.add_argument("--out", type=Path, default=Path("weights"))
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    net = train(given.part, given.minutes, given.workers, given.seed, given.resume, given.rate)
    torch.save(net.state_dict(), given.out / f"{given.part}.pt")
    export(given.part, net, given.out / f"{given.part}.onnx")
    print(f"{given.part} written", flush=True)


if __name__ == "__main__":
    main()
