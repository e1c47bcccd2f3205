"""Sound -> Transcript with alternatives."""

VERSION = "6"
