"""Sound -> Transcript with alternatives."""

VERSION = "8"
