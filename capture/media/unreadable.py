"""How a file is refused."""

COPY_AGAIN = "copy it to the inbox again, complete"


class UnreadableMedia(Exception):
    """A file cannot be taken in; the message is a sentence for the person who dropped it."""
