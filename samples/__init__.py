"""One demo inspection and further drafted cases, with the scripts that make them."""

from pathlib import Path


def demo_folder() -> Path:
    """The folder of the demo inspection: ``inbox/`` as a phone would drop it, and ``expected.json``."""
    return Path(__file__).parent / "demo"
