"""Sending by itself: a thread that sends what is due, for as long as the program runs."""

import logging
import threading
import time
from collections.abc import Sequence

from models.settings import EndpointSettings
from models.store import Store
from pipelines.delivery.sending import Clock, send_due
from pipelines.delivery.webhook import key_of

POLL_S = 5.0
"""A record that was signed, in whatever program, goes out about this soon."""
TROUBLE_S = 60.0
"""How long to wait after the database itself could not be read."""

_log = logging.getLogger("droplight.delivery")


class BackgroundSender:
    """Sends in a thread of its own what is due, until it is stopped.

    Several programs may each have one: a receiver is sent to by one of them at a time.
    """

    def __init__(
        self,
        store: Store,
        endpoints: Sequence[EndpointSettings],
        clock: Clock = time.time,
        poll_s: float = POLL_S,
    ) -> None:
        """Make ready; nothing is sent before :meth:`start`.

        Args:
            store: shared with whatever else the program does.
            endpoints: the receivers.
            clock: Unix time in seconds.
            poll_s: how often to look for what is due.

        Raises:
            SecretError: an endpoint's secret cannot be used.
        """
        for endpoint in endpoints:
            key_of(endpoint.secret)
        self._store = store
        self._endpoints = tuple(endpoints)
        self._clock = clock
        self._poll_s = poll_s
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="sender", daemon=True)

    def start(self) -> None:
        """Begin to send."""
        self._thread.start()

    def stop(self) -> bool:
        """End after the delivery in hand; False when its receiver keeps it waiting beyond its time.

        What is in hand then is due again after a while, under the same id.
        """
        self._stop.set()
        longest = max((endpoint.timeout_s for endpoint in self._endpoints), default=0.0)
        self._thread.join(3 * longest + 1)
        return not self._thread.is_alive()

    def _run(self) -> None:
        trouble = False
        while not self._stop.is_set():
            try:
                went = send_due(self._store, self._endpoints, self._clock, stop=self._stop)
            except Exception as error:  # the database is away, or full: what is due stays due
                if not trouble:
                    _log.error("Signed records could not be sent (%s); trying again every minute.", error)
                    _log.debug("", exc_info=True)
                trouble = True
            else:
                trouble = False
                if went.given_up:
                    _log.warning(
                        "%d signed record(s) could not be handed on and were given up: see /deliveries on "
                        "the review pages.",
                        went.given_up,
                    )
            self._stop.wait(TROUBLE_S if trouble else self._poll_s)
