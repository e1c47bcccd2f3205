"""Make the update that is shipped from those that were learnt: weakened, added up, cut to a rank, in 8 bits.

    python -m pipelines.speech.training.shrink UPDATE.npz FIRST.npz=0.3 SECOND.npz=0.2 --rank 48

What is added at the strength of 1 fits the synthesisers best; less of it keeps more of the ear for people.
Runs that began elsewhere err elsewhere: their mean hears better than each of them (Wortsman et al. 2022,
"Model soups").
"""

import argparse
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from pipelines.speech.weights_file import in_8_bits, update_matrix

Update = Mapping[str, npt.NDArray[Any]]


def cut(up: npt.NDArray[Any], down: npt.NDArray[Any], rank: int) -> tuple[npt.NDArray[Any], npt.NDArray[Any]]:
    """The two thin matrices of that rank whose product is nearest to that of wider ones.

    Args:
        up: (rows, any).
        down: (any, columns).
        rank: columns of the first result, rows of the second.
    """
    left, inner = np.linalg.qr(up)
    right, other = np.linalg.qr(down.T)
    u, sizes, v = np.linalg.svd(inner @ other.T)
    root = np.sqrt(sizes[:rank])
    return left @ u[:, :rank] * root, root[:, None] * v[:rank] @ right.T


def shrink(parts: Sequence[tuple[Update, float]], rank: int) -> dict[str, npt.NDArray[Any]]:
    """The sum of updates, each times its strength; vectors stay in half precision."""
    shipped: dict[str, npt.NDArray[Any]] = {}
    for title in parts[0][0]:
        if title.endswith((":down", ":scale")):
            continue
        if not title.endswith(":up"):
            vectors = [strength * update[title].astype(np.float32) for update, strength in parts]
            shipped[title] = np.sum(vectors, axis=0).astype(np.float16)
            continue
        down = title.removesuffix(":up") + ":down"
        ups = np.hstack([strength * update_matrix(update, title) for update, strength in parts])
        downs = np.vstack([update_matrix(update, down) for update, _ in parts])
        for name, values in zip((title, down), cut(ups, downs, rank), strict=True):
            shipped[name], shipped[f"{name}:scale"] = in_8_bits(values)
    return shipped


def _part(text: str) -> tuple[Update, float]:
    path, _, strength = text.rpartition("=")
    with np.load(path) as update:
        return dict(update), float(strength)


def main() -> None:
    """Add up and shrink the updates named on the command line."""
    parser = argparse.ArgumentParser(description="Add up updates, weaken them and write them in 8 bits.")
    parser.add_argument("out", type=Path)
    parser.add_argument("parts", nargs="+", type=_part, metavar="FILE=STRENGTH")
    parser.add_argument("--rank", type=int, default=48)
    arguments = parser.parse_args()
    np.savez(arguments.out, allow_pickle=False, **shrink(arguments.parts, arguments.rank))


if __name__ == "__main__":
    main()
