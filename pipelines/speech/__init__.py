"""Sound -> Transcript with alternatives."""

VERSION = "2"
