"""Sound -> Transcript with alternatives."""

VERSION = "1"
