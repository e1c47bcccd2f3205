"""One signed record as one HTTP request, by the Standard Webhooks rules (version 1.0.0).

The body is the record itself in its RFC 8785 form, so that every attempt sends the same bytes. Headers:
``webhook-id`` (the same for every attempt), ``webhook-timestamp`` (Unix seconds), ``webhook-signature``
(``v1,`` and the base64 of HMAC-SHA256 over id, timestamp and body joined by full stops), and
``Idempotency-Key``, a quoted string with the same id.
"""

import base64
import binascii
import hashlib
import hmac
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Literal

from models.frozen import Frozen

LONGEST_WAIT_S = 24 * 3600.0

Outcome = Literal["sent", "again", "refused", "gone"]


class SecretError(ValueError):
    """The secret of an endpoint cannot be used."""


def key_of(secret: str) -> bytes:
    """The signing key of a secret: base64 of 24 to 64 bytes behind ``whsec_``.

    Raises:
        SecretError: it is something else.
    """
    try:
        key = base64.b64decode(secret.removeprefix("whsec_"), validate=True)
    except (binascii.Error, ValueError):
        key = b""
    if not secret.startswith("whsec_") or not 24 <= len(key) <= 64:
        raise SecretError("The secret must be whsec_ and the base64 of 24 to 64 bytes.")
    return key


def signature(secret: str, message: str, timestamp: int, body: bytes) -> str:
    """The value of ``webhook-signature``.

    Args:
        secret: shared with the receiver.
        message: the value of ``webhook-id``.
        timestamp: Unix seconds.
        body: the bytes sent.

    Raises:
        SecretError: the secret cannot be used.
    """
    signed = f"{message}.{timestamp}.".encode() + body
    return "v1," + base64.b64encode(hmac.digest(key_of(secret), signed, hashlib.sha256)).decode("ascii")


def headers(secret: str, message: str, timestamp: int, body: bytes) -> dict[str, str]:
    """All headers of one attempt."""
    return {
        "content-type": "application/json",
        "user-agent": "droplight",
        "webhook-id": message,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": signature(secret, message, timestamp, body),
        "idempotency-key": f'"{message}"',
    }


class Answer(Frozen):
    """What an attempt came to.

    Attributes:
        outcome: sent; again: try later; refused: trying again brings nothing; gone: the receiver is closed.
        problem: in words; empty when sent.
        wait_s: how long the receiver asks to wait (seconds); None when it does not say.
    """

    outcome: Outcome
    problem: str = ""
    wait_s: float | None = None


def wait_of(retry_after: str | None, now: float) -> float | None:
    """The seconds that a ``Retry-After`` header asks for, at most a day; None when it cannot be read.

    Args:
        retry_after: seconds or an HTTP date.
        now: Unix time in seconds.
    """
    text = (retry_after or "").strip()
    if text.isascii() and text.isdigit():
        return min(float(text[:9]), LONGEST_WAIT_S)
    try:
        moment = parsedate_to_datetime(text)
    except (TypeError, ValueError):
        return None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return min(max((moment - datetime.fromtimestamp(now, UTC)).total_seconds(), 0.0), LONGEST_WAIT_S)


_WORDS = {
    400: "the receiver calls the request wrong",
    409: "the receiver is still busy with the same record",
    410: "the receiver says that it is gone",
    413: "the record is too large for the receiver",
    415: "the receiver does not take JSON",
    422: "the receiver has another record under the same key, or cannot use this one",
    429: "the receiver asks to wait",
}
_HOPELESS = frozenset({400, 413, 415, 422})


def answer_of(status: int, retry_after: str | None, now: float) -> Answer:
    """What a status means: 2xx sent, 410 gone, a few refused, everything else (redirects too) again."""
    if 200 <= status < 300:
        return Answer(outcome="sent")
    redirect = "the receiver sends elsewhere, which is not followed" if 300 <= status < 400 else ""
    problem = f"{_WORDS.get(status) or redirect or 'the receiver could not take it'} (status {status})"
    if status == 410:
        return Answer(outcome="gone", problem=problem)
    if status in _HOPELESS:
        return Answer(outcome="refused", problem=problem)
    return Answer(outcome="again", problem=problem, wait_s=wait_of(retry_after, now))
