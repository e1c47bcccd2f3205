"""What readers learn from is what they are shown later."""

import numpy as np
import pytest

from pipelines.displays import strips
from pipelines.displays.training.lessons import strip_lessons


def test_batches_are_evened_out_as_single_strips_are() -> None:
    """Against `cv2` and `numpy.linalg` in `strips`; rounding to half a thousandth of a deviation."""
    torch = pytest.importorskip("torch", reason="PyTorch is installed where networks are taught alone")
    from pipelines.displays.training.views import Views

    rng = np.random.default_rng(3)
    drawn = [lesson for _ in range(4) for lesson in strip_lessons(rng)]
    pictures = torch.from_numpy(np.stack([picture for picture, _, _ in drawn]))
    widths = torch.tensor([width for _, width, _ in drawn])
    evened = Views(torch.device("cpu"))._levelled_and_inked(pictures, widths)
    for seen, way in zip(evened, (strips.levelled, strips.inked), strict=True):
        for row, (picture, width, _) in zip(seen.numpy(), drawn, strict=True):
            want = way(np.ascontiguousarray(picture[:, :width]))
            assert np.abs(row[:, :, :width] - want).max() < 5e-4
            assert not row[:, :, width:].any()
