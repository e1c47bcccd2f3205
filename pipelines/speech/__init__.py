"""Sound -> Transcript with alternatives."""

VERSION = "9"
