"""What was said and what was photographed, brought together."""

from pipelines.pairing.moments import PairingRules
from pipelines.pairing.pair import Paired, pair

__all__ = ["Paired", "PairingRules", "pair"]
