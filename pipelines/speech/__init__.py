"""Sound -> Transcript with alternatives."""

VERSION = "5"
