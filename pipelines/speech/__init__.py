"""Sound -> Transcript with alternatives."""

VERSION = "7"
