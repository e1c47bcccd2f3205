"""Sound -> Transcript with alternatives."""

VERSION = "4"
