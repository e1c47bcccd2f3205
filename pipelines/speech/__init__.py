"""Sound -> Transcript with alternatives."""

VERSION = "10"
