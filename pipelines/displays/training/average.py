# mypy: ignore-errors
"""Average the weights of two runs of one network, the second of which went on from the first.

Example::

    python3 -m pipelines.displays.training.average read first/read.pt second/read.pt --out weights
"""

import argparse
from pathlib import Path

import torch

from pipelines.displays.training.learning import PARTS, export


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("part", choices=sorted(PARTS))
    parser.add_argument("first", type=Path)
    parser.add_argument("second", type=Path)
    parser.add_argument("--out", type=Path, default=Path("weights"))
    given = parser.parse_args()
    first, second = (torch.load(path, map_location="cpu") for path in (given.first, given.second))
    mean = {k: (v + second[k]) / 2 if v.is_floating_point() else second[k] for k, v in first.items()}
    net = PARTS[given.part]()
    net.load_state_dict(mean)
    given.out.mkdir(parents=True, exist_ok=True)
    export(given.part, net, given.out / f"{given.part}.onnx")


if __name__ == "__main__":
    main()
