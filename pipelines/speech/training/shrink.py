"""Make the update that is shipped from the one that was learnt: weakened, and in 8 bits.

    python -m pipelines.speech.training.shrink LEARNT.npz UPDATE.npz --strength 0.6

What is added at the strength of 1 fits the synthesisers best; less of it keeps more of the ear for people.
"""

import argparse
from pathlib import Path

import numpy as np

from pipelines.speech.weights_file import in_8_bits


def shrink(learnt: Path, out: Path, strength: float) -> None:
    """Write `strength` times the update; vectors stay in half precision."""
    shipped = {}
    with np.load(learnt) as update:
        for title, values in update.items():
            if values.ndim < 2:
                shipped[title] = (strength * values.astype(np.float32)).astype(np.float16)
                continue
            factor = strength if title.endswith(":up") else 1.0
            shipped[title], shipped[f"{title}:scale"] = in_8_bits(factor * values.astype(np.float32))
    np.savez(out, allow_pickle=False, **shipped)


def main() -> None:
    """Shrink the update named on the command line."""
    parser = argparse.ArgumentParser(description="Weaken an update and write it in 8 bits.")
    parser.add_argument("learnt", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--strength", type=float, required=True)
    arguments = parser.parse_args()
    shrink(arguments.learnt, arguments.out, arguments.strength)


if __name__ == "__main__":
    main()
