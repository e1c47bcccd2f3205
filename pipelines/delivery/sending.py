"""Sending signed records to receivers over HTTP, again and again until each is sent or given up.

What is sent is read from the store for each attempt; nothing is kept in memory. A process that dies in the
middle leaves a delivery that is due again after a while and carries the same id, by which the receiver knows
it. Only the configured address is spoken to: no redirect is followed, no proxy of the environment is used.
"""

import random
import time
from collections.abc import Callable, Sequence

import httpx

from models.frozen import Frozen
from models.settings import EndpointSettings
from models.signing import canonical_bytes, verify
from models.store import Store
from models.store.deliveries import Delivery
from pipelines.delivery.webhook import Answer, answer_of, headers, key_of

DELAYS_S = (5.0, 300.0, 1800.0, 7200.0, 18000.0, 36000.0, 50400.0, 72000.0, 86400.0)
"""How long to wait after each failed attempt; after the last one the delivery is given up."""
JITTER = 0.25
_LEASE_S = 60.0

Clock = Callable[[], float]
Rise = Callable[[float, float], float]
"""A random number between two, such as ``random.uniform``."""


class Sent(Frozen):
    """How one round went: records sent, to be tried again, and given up."""

    sent: int = 0
    again: int = 0
    given_up: int = 0


def _attempt(
    client: httpx.Client, endpoint: EndpointSettings, message: str, body: bytes, now: float
) -> Answer:
    try:
        request = client.build_request(
            "POST",
            endpoint.url,
            content=body,
            headers=headers(endpoint.secret, message, int(now), body),
            timeout=endpoint.timeout_s,
        )
        response = client.send(request, stream=True)  # the answer's body is never read: it may have no end
        try:
            return answer_of(response.status_code, response.headers.get("retry-after"), now)
        finally:
            response.close()
    except httpx.TimeoutException:
        return Answer(outcome="again", problem=f"no answer within {endpoint.timeout_s:g} s")
    except httpx.HTTPError as error:
        return Answer(outcome="again", problem=f"the receiver cannot be reached: {error}")


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


def _settle(store: Store, delivery: Delivery, answer: Answer, now: float, rise: Rise) -> Sent:
    if answer.outcome == "sent":
        store.deliveries.note(delivery.id, "sent")
        return Sent(sent=1)
    if answer.outcome == "gone":
        store.deliveries.close(delivery.endpoint, answer.problem)
        return Sent(given_up=1)
    due = due_again(delivery.attempts, answer, now, rise) if answer.outcome == "again" else None
    if due is None:
        store.deliveries.note(delivery.id, "dead", problem=answer.problem)
        return Sent(given_up=1)
    store.deliveries.note(delivery.id, "waiting", due, answer.problem)
    return Sent(again=1)


def send_due(
    store: Store,
    endpoints: Sequence[EndpointSettings],
    clock: Clock = time.time,
    rise: Rise = random.uniform,
) -> Sent:
    """Try every delivery that is due, once.

    Args:
        store: holds the records and how far each delivery is.
        endpoints: the receivers; those not enabled, and those that said they are gone, are passed over.
        clock: Unix time in seconds.
        rise: spreads the delays.

    Raises:
        SecretError: an endpoint's secret cannot be used; nothing was sent.
    """
    for endpoint in endpoints:
        key_of(endpoint.secret)
    closed = store.deliveries.closed()
    total = Sent()
    with httpx.Client(follow_redirects=False, trust_env=False) as client:
        for endpoint in (e for e in endpoints if e.enabled and e.name not in closed):
            store.deliveries.plan(endpoint.name)
            total = _add(total, _send_to(store, client, endpoint, clock, rise))
    return total


def _send_to(
    store: Store, client: httpx.Client, endpoint: EndpointSettings, clock: Clock, rise: Rise
) -> Sent:
    total = Sent()
    start = clock()
    lease = 2 * endpoint.timeout_s + _LEASE_S
    while (delivery := store.deliveries.claim(endpoint.name, start, clock() + lease)) is not None:
        body = _body(store, delivery.inspection)
        if body is None:
            answer = Answer(outcome="refused", problem="the record in the database is not what was signed")
        else:
            answer = _attempt(client, endpoint, delivery.message, body, clock())
        total = _add(total, _settle(store, delivery, answer, clock(), rise))
    return total


def _add(one: Sent, other: Sent) -> Sent:
    return Sent(
        sent=one.sent + other.sent, again=one.again + other.again, given_up=one.given_up + other.given_up
    )
