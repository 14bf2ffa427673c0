"""Connections that begin a request and never end it are closed: each holds a place that others need.

The server underneath waits for the rest of a request's head for ever (RFC 9112, section 9.5, allows a limit).
"""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.auto import AutoHTTPProtocol

HEAD_S = 10.0  # from the connection, or the first byte of a later request, to the end of its head
BODY_S = 30.0  # between two pieces of a body

_Base: Any = AutoHTTPProtocol  # one of two, by what is installed; the library names their common part only


class PatientProtocol(_Base):  # type: ignore[misc]
    """The server's protocol, with a limit to its patience."""

    _waits: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:
        """Somebody is there; the head of a request should follow."""
        super().connection_made(transport)
        self._watch()

    def data_received(self, data: bytes) -> None:
        """More of a request came."""
        super().data_received(data)
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """They are gone."""
        self._rest()
        super().connection_lost(exc)

    def _watch(self) -> None:
        if self._answers():
            self._rest()
        elif self._waits is None:
            self._waits = asyncio.get_running_loop().call_later(HEAD_S, self._give_up)

    def _answers(self) -> bool:
        """Whether a whole head is there and its answer is not yet given."""
        return self.cycle is not None and not self.cycle.response_complete

    def _rest(self) -> None:
        if self._waits is not None:
            self._waits.cancel()
            self._waits = None

    def _give_up(self) -> None:
        self._waits = None
        # A connection that became a socket belongs to another protocol by now.
        if not self._answers() and self in self.connections:
            self.transport.close()
