"""What a command could not do."""


class Failure(Exception):
    """A sentence for the person at the terminal: what happened, to which file, and what to do."""
