"""How long the server waits for a request to arrive.

A client that sends the head of a request slowly, or opens connections and says nothing, would keep them open
for ever: the server under the pages knows a limit for what comes between two requests only. What comes after
the head is waited for where it is read: forms in :mod:`pipelines.review.desk`, files in
:mod:`pipelines.review.upload`.
"""

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_WITHIN_S = 10.0
MOST_AT_ONCE = 300
"""Connections, and requests in hand: a browser opens six, a shop has some dozens of browsers."""
_LATE = b"HTTP/1.1 408 Request Timeout\r\nconnection: close\r\ncontent-length: 0\r\n\r\n"


class PatientProtocol(H11Protocol):
    """One connection, closed when the head of a request does not arrive in time."""

    _head: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for the first request."""
        super().connection_made(transport)
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Take in a piece; the clock runs while the head is not whole, however many pieces come."""
        super().data_received(data)
        if self.conn.their_state is not h11.IDLE:
            self._stop_waiting()
        elif self._head is None and not self.transport.is_closing():
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait for nothing more."""
        self._stop_waiting()
        super().connection_lost(exc)

    def _wait(self) -> None:
        self._head = self.loop.call_later(HEAD_WITHIN_S, self._too_late)

    def _stop_waiting(self) -> None:
        if self._head is not None:
            self._head.cancel()
            self._head = None

    def _too_late(self) -> None:
        self._head = None
        if not self.transport.is_closing():
            self.transport.write(_LATE)
            self.transport.close()
