"""Sending signed records to receivers over HTTP, again and again until each is sent or given up.

What is sent is read from the store for each attempt; nothing is kept in memory. A process that dies in the
middle leaves a delivery that is due again after a while and carries the same id, by which the receiver knows
it. Only the configured address is spoken to: no redirect is followed, no proxy of the environment is used.
"""

import os
import random
import socket
import ssl
import threading
import time
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple
from uuid import uuid4

import httpx

from models.frozen import Frozen
from models.settings import EndpointSettings
from models.signing import canonical_bytes, verify
from models.store import Store
from models.store.deliveries import Delivery, Turn
from pipelines.delivery.webhook import Answer, answer_of, headers, key_of

DELAYS_S = (5.0, 300.0, 1800.0, 7200.0, 18000.0, 36000.0, 50400.0, 72000.0, 86400.0)
"""How long to wait after each failed attempt; after the last one the delivery is given up."""
JITTER = 0.25
PATIENCE = 5
"""After so many failures in a row a receiver is left alone until the next round: others wait behind it."""
LEASE_S = 60.0
"""How long beyond the slowest attempt a delivery, and the turn at its receiver, is kept for a sender."""

Clock = Callable[[], float]
Rise = Callable[[float, float], float]
"""A random number between two, such as ``random.uniform``."""


class Sent(Frozen):
    """How one round went: records sent, to be tried again, and given up."""

    sent: int = 0
    again: int = 0
    given_up: int = 0


@lru_cache(maxsize=1)
def _certificates() -> ssl.SSLContext:
    return httpx.create_ssl_context(trust_env=False)


def _attempt(endpoint: EndpointSettings, message: str, body: bytes, now: float) -> Answer:
    # A receiver that sends its answer byte by byte keeps every single wait short: the whole has an end too.
    with httpx.Client(follow_redirects=False, trust_env=False, verify=_certificates()) as client:
        end = threading.Timer(2 * endpoint.timeout_s, client.close)
        end.daemon = True
        end.start()
        try:
            request = client.build_request(
                "POST",
                endpoint.url,
                content=body,
                headers=headers(endpoint.secret, message, int(now), body),
                timeout=endpoint.timeout_s,
            )
            response = client.send(
                request, stream=True
            )  # the answer's body is never read: it may have no end
            try:
                return answer_of(response.status_code, response.headers.get("retry-after"), now)
            finally:
                response.close()
        except httpx.TimeoutException:
            return Answer(outcome="again", problem=f"no answer within {endpoint.timeout_s:g} s")
        except (httpx.HTTPError, OSError, RuntimeError) as error:
            if not end.is_alive():
                return Answer(outcome="again", problem=f"no whole answer within {2 * endpoint.timeout_s:g} s")
            return Answer(outcome="again", problem=f"the receiver cannot be reached: {error}")
        finally:
            end.cancel()


def _body(store: Store, inspection: str) -> bytes | None:
    record = store.signed(inspection)
    data = record.to_json() if record else {}
    return canonical_bytes(data) if verify(data) else None


def due_again(attempts: int, answer: Answer, now: float, rise: Rise) -> float | None:
    """When to try again (Unix seconds); None when it was tried often enough.

    Args:
        attempts: how often it was tried.
        answer: of the last attempt.
        now: Unix time in seconds.
        rise: spreads the delays, so that many deliveries do not come at once.
    """
    if attempts > len(DELAYS_S):
        return None
    delay = DELAYS_S[attempts - 1] * rise(1.0, 1.0 + JITTER)
    return now + max(delay, answer.wait_s or 0.0)


class _Sender(NamedTuple):
    """What a round of sending needs: the store, a name of its own, the time, and when to stop."""

    store: Store
    name: str
    clock: Clock
    rise: Rise
    stop: threading.Event


def _settle(sender: _Sender, delivery: Delivery, answer: Answer) -> Sent:
    deliveries, now = sender.store.deliveries, sender.clock()
    if answer.outcome == "sent":
        deliveries.note(delivery, "sent")
        return Sent(sent=1)
    if answer.outcome == "gone":
        deliveries.close(delivery.endpoint, answer.problem)
        return Sent(given_up=1)
    again = answer.outcome == "again"
    due = due_again(delivery.attempts, answer, now, sender.rise) if again else None
    if due is None:
        return Sent(given_up=int(deliveries.note(delivery, "dead", problem=answer.problem)))
    return Sent(again=int(deliveries.note(delivery, "waiting", due, answer.problem)))


def send_due(
    store: Store,
    endpoints: Sequence[EndpointSettings],
    clock: Clock = time.time,
    rise: Rise = random.uniform,
    stop: threading.Event | None = None,
) -> Sent:
    """Try every delivery that is due, once.

    A receiver that another program is sending to is passed over.

    Args:
        store: holds the records and how far each delivery is.
        endpoints: the receivers; those not enabled, and those that said they are gone, are passed over.
        clock: Unix time in seconds.
        rise: spreads the delays.
        stop: ends the round between two deliveries.

    Raises:
        SecretError: an endpoint's secret cannot be used; nothing was sent.
    """
    for endpoint in endpoints:
        key_of(endpoint.secret)
    name = f"{socket.gethostname()[:20]} {os.getpid()} {uuid4().hex[:12]}"
    sender = _Sender(store, name, clock, rise, stop or threading.Event())
    closed = store.deliveries.closed()
    total = Sent()
    for endpoint in (e for e in endpoints if e.enabled and e.name not in closed):
        store.deliveries.plan(endpoint.name)
        total = _add(total, _send_to(sender, endpoint))
    return total


def _send_to(sender: _Sender, endpoint: EndpointSettings) -> Sent:
    total, tried, failed = Sent(), False, 0
    start = sender.clock()
    lease = 3 * endpoint.timeout_s + LEASE_S
    try:
        while failed < PATIENCE and not sender.stop.is_set():
            now = sender.clock()
            turn = Turn(holder=sender.name, due_by=start, now=now, until=now + lease)
            delivery = sender.store.deliveries.claim(endpoint.name, turn)
            if delivery is None:
                break
            tried = True
            answer = _try(sender, endpoint, delivery)
            total = _add(total, _settle(sender, delivery, answer))
            failed = failed + 1 if answer.outcome == "again" else 0
            if answer.wait_s:  # it asks to wait: the others are not sent on its heels
                break
    finally:
        if tried:
            sender.store.deliveries.release(endpoint.name, sender.name)
    return total


def _try(sender: _Sender, endpoint: EndpointSettings, delivery: Delivery) -> Answer:
    body = _body(sender.store, delivery.inspection)
    if body is None:
        return Answer(outcome="refused", problem="the record in the database is not what was signed")
    return _attempt(endpoint, delivery.message, body, sender.clock())


def _add(one: Sent, other: Sent) -> Sent:
    return Sent(
        sent=one.sent + other.sent, again=one.again + other.again, given_up=one.given_up + other.given_up
    )
