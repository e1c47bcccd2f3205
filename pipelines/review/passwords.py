"""Passwords, kept as Argon2id digests with the parameters of RFC 9106 for little memory."""

from functools import lru_cache
from threading import BoundedSemaphore

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

SHORTEST = 12
LONGEST = 200

_hasher = PasswordHasher()
# A check takes 64 MiB for a moment: a storm of sign-ins must wait in line, not fill the memory.
_line = BoundedSemaphore(2)


def password_hash(password: str) -> str:
    """The digest to keep.

    Raises:
        ValueError: the password is too short or too long; the message says so in a sentence.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        raise ValueError(f"A password has {SHORTEST} to {LONGEST} characters; a few words in a row do well.")
    with _line:
        return _hasher.hash(password)


@lru_cache(maxsize=1)
def _nobodys() -> str:
    return _hasher.hash("the password of nobody")


def matches(digest: str, password: str) -> bool:
    """Whether a password is the one of a digest; an empty digest takes as long to say no."""
    try:
        with _line:
            return _hasher.verify(digest or _nobodys(), password[: LONGEST + 1]) and bool(digest)
    except (VerificationError, InvalidHashError):
        return False
