# mypy: ignore-errors
"""The networks. PyTorch is needed here and in ``train`` only; the reader runs their ONNX form."""

import torch
from torch import nn
from torch.nn import functional

from pipelines.displays.alphabet import CHARACTERS, UNIT_CODES


def conv(inputs: int, outputs: int, kernel=3, stride=1) -> nn.Sequential:
    """Convolution, batch normalisation, rectifier."""
    pad = tuple(k // 2 for k in kernel) if isinstance(kernel, tuple) else kernel // 2
    return nn.Sequential(
        nn.Conv2d(inputs, outputs, kernel, stride, pad, bias=False),
        nn.BatchNorm2d(outputs),
        nn.ReLU(inplace=True),
    )


class Residual(nn.Module):
    """Two convolutions round which the input is added."""

    def __init__(self, width: int, kernel=3):
        super().__init__()
        pad = tuple(k // 2 for k in kernel) if isinstance(kernel, tuple) else kernel // 2
        self.first = conv(width, width, kernel)
        self.second = nn.Sequential(
            nn.Conv2d(width, width, kernel, 1, pad, bias=False), nn.BatchNorm2d(width)
        )

    def forward(self, x):
        """Same shape in and out."""
        return functional.relu(x + self.second(self.first(x)))


class Pyramid(nn.Module):
    """Features at a quarter of the input's size that have seen a large part of it."""

    def __init__(self, widths: tuple[int, ...], depths: tuple[int, ...], out: int):
        super().__init__()
        self.stem = conv(3, widths[0], 3, 2)
        stages, before = [], widths[0]
        for width, depth in zip(widths[1:], depths, strict=True):
            stages.append(nn.Sequential(conv(before, width, 3, 2), *[Residual(width) for _ in range(depth)]))
            before = width
        self.stages = nn.ModuleList(stages)
        self.sides = nn.ModuleList([nn.Conv2d(width, out, 1) for width in widths[1:]])
        self.smooth = nn.ModuleList([conv(out, out) for _ in widths[1:-1]])

    def forward(self, x):
        """Batch x 3 x H x W to batch x out x H/4 x W/4."""
        x = self.stem(x)
        levels = []
        for stage in self.stages:
            x = stage(x)
            levels.append(x)
        y = self.sides[-1](levels[-1])
        for i in range(len(levels) - 2, -1, -1):
            y = self.smooth[i](
                functional.interpolate(y, scale_factor=2.0, mode="nearest") + self.sides[i](levels[i])
            )
        return y


class Locator(nn.Module):
    """Where digits and displays are: scores of digits and window, and the way to the four corners.

    The input's height and width are multiples of 32. Corners count in 64 pixels, from the pixel.
    """

    def __init__(self):
        super().__init__()
        self.body = Pyramid((16, 32, 64, 112, 144), (1, 2, 2, 3), 40)
        self.head = nn.Sequential(conv(40, 40), nn.Conv2d(40, 10, 1))

    def forward(self, x):
        """Batch x 3 x H x W to batch x 10 x H/4 x W/4."""
        return self.head(self.body(x))


class Reader(nn.Module):
    """The characters of a strip, one step for each four pixels, as log probabilities (class 0 is blank)."""

    def __init__(self):
        super().__init__()
        self.body = nn.Sequential(
            conv(3, 32),
            conv(32, 56, 3, 2),
            Residual(56),
            conv(56, 112, 3, 2),
            Residual(112),
            Residual(112),
            conv(112, 160, 3, (2, 1)),
            Residual(160),
            conv(160, 176, 3, (2, 1)),
            conv(176, 192, (3, 1), (3, 1)),
        )
        self.steps = nn.Sequential(*[Residual(192, (1, 5)) for _ in range(2)], nn.Dropout(0.1))
        self.say = nn.Conv2d(192, len(CHARACTERS) + 1, 1)

    def forward(self, x):
        """Batch x 3 x 48 x W to batch x W/4 x classes."""
        y = self.say(self.steps(self.body(x)))
        return functional.log_softmax(y.mean(dim=2).permute(0, 2, 1).float(), dim=2)


class Wide(nn.Module):
    """A residual block that looks far: one plane at a time, then across planes."""

    def __init__(self, width: int, kernel, dilation: int = 1):
        super().__init__()
        pad = (kernel[0] // 2, kernel[1] // 2 * dilation)
        self.near = nn.Sequential(
            nn.Conv2d(width, width, kernel, 1, pad, (1, dilation), groups=width, bias=False),
            nn.BatchNorm2d(width),
        )
        self.across = nn.Sequential(
            nn.Conv2d(width, 3 * width, 1), nn.ReLU(inplace=True), nn.Conv2d(3 * width, width, 1)
        )

    def forward(self, x):
        """Same shape in and out."""
        return x + self.across(self.near(x))


class SecondReader(nn.Module):
    """Says the same as `Reader` in another way: thin filters that reach far, steps that see all digits."""

    def __init__(self):
        super().__init__()
        self.body = nn.Sequential(
            conv(3, 40, 3, 2),
            Wide(40, (5, 5)),
            conv(40, 96, 3, 2),
            *[Wide(96, (7, 7)) for _ in range(3)],
            conv(96, 168, 3, (2, 1)),
            *[Wide(168, (5, 7)) for _ in range(3)],
            nn.Conv2d(168, 256, (6, 3), 1, (0, 1), bias=False),
            nn.BatchNorm2d(256),
            nn.ReLU(inplace=True),
        )
        self.steps = nn.Sequential(*[Wide(256, (1, 7), d) for d in (1, 2, 4)], nn.Dropout(0.1))
        self.say = nn.Conv2d(256, len(CHARACTERS) + 1, 1)

    def forward(self, x):
        """Batch x 3 x 48 x W to batch x W/4 x classes."""
        y = self.say(self.steps(self.body(x)))
        return functional.log_softmax(y[:, :, 0].permute(0, 2, 1).float(), dim=2)


class UnitFinder(nn.Module):
    """Which unit stands where on a sheet: class scores before the softmax."""

    def __init__(self):
        super().__init__()
        self.body = Pyramid((16, 40, 72, 112), (2, 2, 2), 48)
        self.head = nn.Sequential(conv(48, 48), nn.Conv2d(48, len(UNIT_CODES) + 2, 1))

    def forward(self, x):
        """Batch x 3 x 208 x 512 to batch x classes x 52 x 128."""
        return self.head(self.body(x))


class WordReader(nn.Module):
    """Which unit a small piece with one word shows: class scores before the softmax."""

    def __init__(self):
        super().__init__()
        self.body = nn.Sequential(
            conv(3, 24),
            conv(24, 40, 3, 2),
            Residual(40),
            conv(40, 80, 3, 2),
            Residual(80),
            conv(80, 128, 3, 2),
            Residual(128),
        )
        self.say = nn.Sequential(nn.Dropout(0.1), nn.Linear(256, len(UNIT_CODES) + 2))

    def forward(self, x):
        """Batch x 3 x 32 x 128 to batch x classes."""
        y = self.body(x)
        return self.say(torch.cat([y.mean((2, 3)), y.amax((2, 3))], dim=1))


def locator_loss(
    out: torch.Tensor, quads: torch.Tensor, owner: torch.Tensor, window: torch.Tensor
) -> torch.Tensor:
    """Overlap and cross entropy of both scores, and the distance of the corners in digit heights."""
    target = torch.stack([(owner > 0).float(), window.float()], dim=1)
    score = out[:, :2].float()
    entropy = functional.binary_cross_entropy_with_logits(score, target)
    share = torch.sigmoid(score)
    both, total = (share * target).sum((2, 3)), (share + target).sum((2, 3))
    overlap = (1 - (2 * both + 20) / (total + 20)).mean()
    at, row, column = torch.nonzero(owner, as_tuple=True)
    if not len(at):
        return entropy * 3 + overlap
    quad = quads[at, owner[at, row, column].long() - 1]
    here = torch.stack([column, row], dim=1).float() * 4 + 2
    wanted = (quad - here[:, None]).flatten(1)
    given = out[at, 2:, row, column].float() * 64
    height = ((quad[:, 3] - quad[:, 0]).norm(dim=1) + (quad[:, 2] - quad[:, 1]).norm(dim=1)) / 2
    error = functional.smooth_l1_loss(
        given / height[:, None], wanted / height[:, None], reduction="none", beta=0.2
    )
    group = at * 8 + owner[at, row, column].long()
    size = torch.bincount(group, minlength=int(group.max()) + 1).float()
    weight = 1 / size[group]
    return entropy * 3 + overlap + (error.mean(1) * weight).sum() / weight.sum()


def unit_loss(out: torch.Tensor, classes: torch.Tensor) -> torch.Tensor:
    """Cross entropy in which the few pixels of units weigh as much as the many of nothing."""
    loss = functional.cross_entropy(out.float(), classes.long(), ignore_index=255, reduction="none")
    some = (classes > 0) & (classes < 255)
    hard = loss[~some].topk(max(1, int((~some).sum()) // 20)).values
    return loss[some].mean() + hard.mean() if some.any() else hard.mean()
