# mypy: ignore-errors
"""Train one network on examples drawn as it learns, and write it as ONNX.

Example, on a machine with a GPU::

    python3 -m pipelines.displays.training.train locate --minutes 8 --workers 14 --out weights
"""

import argparse
from pathlib import Path


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("part", choices=("locate", "read", "again", "unit", "word"))
    parser.add_argument("--minutes", type=float, default=8)
    parser.add_argument("--workers", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--resume", type=Path, help="a .pt file of an earlier run")
    parser.add_argument("--out", type=Path, default=Path("weights"))
    given = parser.parse_args()
    # Loaded here, because the processes that draw load this module too and need none of it.
    import torch

    from pipelines.displays.training.learning import export, train

    given.out.mkdir(parents=True, exist_ok=True)
    start = torch.load(given.resume, map_location="cpu") if given.resume else None
    keep = given.out / f"{given.part}.pt"
    net = train(given.part, given.minutes, given.workers, given.seed, start, given.rate, keep)
    torch.save(net.state_dict(), keep)
    export(given.part, net, given.out / f"{given.part}.onnx")
    print(f"{given.part} written", flush=True)


if __name__ == "__main__":
    main()
