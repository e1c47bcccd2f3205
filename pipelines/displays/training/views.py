# mypy: ignore-errors
"""Strips as the reader looks at them, for whole batches on the trainer's device.

The same as `standard`, `levelled` and `inked` of `pipelines.displays.strips`, which has one strip at a time.
"""

import numpy as np
import torch

from pipelines.displays.alphabet import STRIP_WIDTH
from pipelines.displays.strips import MOST, REACH

# How often a strip is learnt from as it is, levelled, and inked.
SHARES = (0.5, 0.25, 0.25)


def spread(size: int) -> np.ndarray:
    """The matrix (size x size) that blurs a row as `cv2.GaussianBlur` does, mirrored at its ends."""
    reach = (round(REACH * 8 + 1) | 1) // 2
    steps = np.arange(-reach, reach + 1)
    weights = np.exp(-(steps**2) / (2 * REACH**2))
    at = np.arange(size)[:, None] + steps
    period = max(2 * (size - 1), 1)
    at = np.abs((at + size - 1) % period - (size - 1))
    out = np.zeros((size, size))
    np.add.at(out, (np.arange(size)[:, None], at), weights / weights.sum())
    return out.astype(np.float32)


class Views:
    """Ways to look at a batch of strips."""

    def __init__(self, device):
        across = np.zeros((STRIP_WIDTH + 1, STRIP_WIDTH, STRIP_WIDTH), np.float32)
        for width in range(2, STRIP_WIDTH + 1):
            across[width, :width, :width] = spread(width)
        self.across = torch.from_numpy(across).to(device)

    def _blurred(self, x, widths):
        down = torch.from_numpy(spread(x.shape[2])).to(x)
        return torch.einsum("bcij,bwj,ki->bckw", x, self.across[widths], down)

    def _even(self, detail, depth, inside):
        even = (detail / (depth + 2)).clamp(-MOST, MOST) * inside
        count = inside.sum((1, 2, 3), keepdim=True) * detail.shape[1] * detail.shape[2]
        mean = even.sum((1, 2, 3), keepdim=True) / count
        deviation = (((even - mean) * inside) ** 2).sum((1, 2, 3), keepdim=True).div(count).sqrt()
        return even / (deviation + 0.05)

    def _levelled_and_inked(self, pictures, widths):
        x = pictures.permute(0, 3, 1, 2).float()
        inside = torch.arange(x.shape[3], device=x.device)[None] < widths[:, None]
        inside = inside.float()[:, None, None]
        x = x * inside
        detail = (x - self._blurred(x, widths)) * inside
        depth = self._blurred((detail**2).mean(1, keepdim=True), widths).clamp_min(0).sqrt()
        levelled = self._even(detail, depth, inside)
        flat = detail.flatten(2)
        mixture = torch.linalg.eigh(flat @ flat.transpose(1, 2))[1][:, :, -1]
        mixture = mixture * torch.where(mixture.sum(1, keepdim=True) >= 0, 1.0, -1.0)
        plane = torch.einsum("bchw,bc->bhw", detail, mixture)[:, None]
        depth = self._blurred(plane**2, widths).clamp_min(0).sqrt()
        return levelled, self._even(plane, depth, inside).expand(-1, 3, -1, -1)

    def mixed(self, pictures, widths, plain):
        """Each strip looked at in one way, chosen at random.

        Args:
            pictures: batch x 48 x 384 x 3, 8 bits.
            widths: pixels that count of each.
            plain: the same strips, standardised (batch x 3 x 48 x 384).
        """
        with torch.no_grad(), torch.autocast(plain.device.type, enabled=False):
            levelled, inked = self._levelled_and_inked(pictures, widths)
        pick = torch.rand(len(plain), device=plain.device)[:, None, None, None]
        rest = torch.where(pick < SHARES[0] + SHARES[1], levelled, inked)
        return torch.where(pick < SHARES[0], plain, rest)
