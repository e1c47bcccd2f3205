# mypy: ignore-errors
"""What the networks learn from: losses, grades, and the loop over drawn examples."""

import copy
import math
import time
from collections import deque
from pathlib import Path

import numpy as np
import torch

from pipelines.displays.alphabet import SHEET_SIZE, STRIP_HEIGHT, STRIP_WIDTH, WORD_SIZE
from pipelines.displays.training.drawing import Drawing, examples
from pipelines.displays.training.export import shrink
from pipelines.displays.training.networks import (
    Locator,
    Reader,
    SecondReader,
    UnitFinder,
    WordReader,
    locator_loss,
    unit_loss,
)
from pipelines.displays.training.views import Views

PARTS = {"locate": Locator, "read": Reader, "again": SecondReader, "unit": UnitFinder, "word": WordReader}
BATCH = {"locate": 48, "read": 256, "again": 256, "unit": 48, "word": 256}
READERS = ("read", "again")
_JUDGED = {"locate": 192, "read": 2048, "again": 2048, "unit": 192, "word": 1024}
_JUDGING_SEED = 10**6
_REPORT_S = 15.0
_KEEP_S = 60.0


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


def loss_of(part: str, net, batch, views: Views | None) -> torch.Tensor:
    """Loss of one batch that is already on the device; readers look at it through ``views``."""
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
    out = net(views.mixed(picture, width, standard(picture, width))).float()
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
        if part in READERS:
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
    strip = (STRIP_HEIGHT, STRIP_WIDTH)
    sizes = {"locate": (512, 512), "read": strip, "again": strip, "unit": SHEET_SIZE, "word": WORD_SIZE}
    across = {0: "batch", 3: "width"}
    axes = {"locate": {**across, 2: "height"}, "read": across, "again": across}
    example = torch.zeros(1, 3, *sizes[part])
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


def judged(part: str, count: int) -> list[list[torch.Tensor]]:
    """Batches of examples that are always the same and are never learnt from."""
    stream = examples(part, np.random.default_rng(_JUDGING_SEED))
    rows = [next(stream) for _ in range(count)]
    stacked = [torch.from_numpy(np.stack(field)) for field in zip(*rows, strict=True)]
    return [list(batch) for batch in zip(*(field.split(BATCH[part]) for field in stacked), strict=True)]


def varied(pictures: torch.Tensor) -> torch.Tensor:
    """Pictures seen before in other colours, some as negatives, with new noise."""
    order = torch.randperm(3, device=pictures.device)
    x = pictures[..., order].float()
    negative = (torch.rand(len(x), device=x.device) < 0.3).float()[:, None, None, None]
    x = x + negative * (255 - 2 * x)
    strength = torch.rand(len(x), device=x.device)[:, None, None, None] * 6
    return (x + torch.randn_like(x) * strength).clamp(0, 255).to(torch.uint8)


class _Supply:
    """Batches on the device: fresh ones, and between them one seen before while the next is being drawn."""

    def __init__(self, part: str, drawing: Drawing, device):
        self.part, self.drawing, self.device = part, drawing, device
        self.kept = deque(maxlen=24)
        self.fresh, self.again, self.waited, self._echoed = 0, 0, 0.0, False

    def next(self) -> list[torch.Tensor]:
        """One batch."""
        if self.kept and not self._echoed and not self.drawing.ready():
            self._echoed, self.again = True, self.again + 1
            batch = self.kept[int(np.random.default_rng().integers(0, len(self.kept)))]
            return [varied(batch[0]), *batch[1:]]
        begun = time.monotonic()
        batch = [torch.from_numpy(field) for field in self.drawing.take(BATCH[self.part])]
        self.waited += time.monotonic() - begun
        batch = [field.to(self.device) for field in batch]
        self._echoed, self.fresh = False, self.fresh + 1
        self.kept.append(batch)
        return batch


def _say(part: str, step: int, share: float, loss: float, supply: _Supply, took: float) -> None:
    draws = supply.drawing
    print(
        f"{part} step {step} share {share:.2f} loss {loss:.4f} fresh {supply.fresh * BATCH[part]} "
        f"again {supply.again * BATCH[part]} waited {supply.waited:.0f} of {took:.0f} s, "
        f"drawing on a core {draws.busy_s / max(draws.drawing_s, 1e-9):.2f} of the time",
        flush=True,
    )


def train(part: str, minutes: float, workers: int, seed: int, start: dict | None, rate: float, keep: Path):
    """Train until the time is up.

    Args:
        part: which network.
        minutes: how long to learn.
        workers: processes that draw.
        seed: of the drawn examples.
        start: weights to go on from, or None.
        rate: greatest learning rate.
        keep: where the averaged weights are written now and then.

    Returns:
        The averaged network.
    """
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    drawing = Drawing(part, seed, workers)
    test = judged(part, _JUDGED[part] if device.type == "cuda" else BATCH[part])
    net = PARTS[part]()
    if start is not None:
        net.load_state_dict(start)
    net = net.to(device, memory_format=torch.channels_last)
    views = Views(device) if part in READERS else None
    average = copy.deepcopy(net)
    optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=0.01)
    supply = _Supply(part, drawing, device)
    on_device = [[field.to(device) for field in batch] for batch in test]
    print(f"{part} grade before {grade(part, net.eval(), on_device):.4f}", flush=True)
    net.train()
    step, total, since = 0, 0.0, 0
    begun = said = kept = time.monotonic()
    while (gone := (time.monotonic() - begun) / (minutes * 60)) < 1:
        batch = supply.next()
        for group in optimiser.param_groups:
            falling = 0.01 + 0.99 * (0.5 + 0.5 * math.cos(math.pi * gone))
            group["lr"] = rate * min(1.0, (step + 1) / 200) * falling
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            loss = loss_of(part, net, batch, views)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        optimiser.step()
        follow(average, net, min(0.999, step / (step + 20)))
        step, total, since = step + 1, total + loss.item(), since + 1
        now = time.monotonic()
        if now - said > _REPORT_S:
            _say(part, step, gone, total / since, supply, now - begun)
            said, total, since = now, 0.0, 0
        if now - kept > _KEEP_S:
            torch.save(average.state_dict(), keep)
            kept = now
    drawing.close()
    _say(part, step, 1.0, total / max(since, 1), supply, time.monotonic() - begun)
    print(f"{part} grade after {grade(part, average.eval(), on_device):.4f}", flush=True)
    return average
