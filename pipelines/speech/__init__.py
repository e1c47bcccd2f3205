"""Sound -> Transcript with alternatives."""

VERSION = "3"
