"""The web server, bound to the loopback address: uvicorn with deadlines, so that nobody who is slow or silent
keeps it from others.

A connection says one request and gets one answer. It has so long to say it and so long until all is over;
where many wait, the oldest goes. Those that have become a conversation (a web-socket) have proved who they are.
"""

from __future__ import annotations

import asyncio
import logging
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn
from starlette.types import ASGIApp
from uvicorn.protocols.http.h11_impl import H11Protocol

from analyser.doors.desk.guarding import LOOPBACK

SPOKEN_BY = 5.0
"""Seconds in which a request must have been said, to its last byte."""
OVER_BY = 30.0
"""Seconds after which a connection that only fetches is over."""
MOST_FETCHING = 64
"""Connections that fetch at one time."""
LARGEST_MESSAGE = 8_000_000
"""Bytes of one message of a conversation; a rig has 2 MB at most."""
PINGED, GONE = 20.0, 20.0
"""Seconds between two pings, and after which one that isn't answered ends the conversation."""


class NotServed(Exception):
    """The page can't be served; the message says why."""


class Brief(H11Protocol):
    """A connection with an end."""

    fetching: dict[Brief, None]

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        if len(self.fetching) >= MOST_FETCHING:
            next(iter(self.fetching)).end()
        self.fetching[self] = None
        self.deadline = self.loop.call_later(SPOKEN_BY, self.end)
        self.last = self.loop.call_later(OVER_BY, self.end)

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self.cycle is not None and not self.cycle.more_body:
            self.deadline.cancel()

    def handle_websocket_upgrade(self, event: Any) -> None:
        self.forget()
        super().handle_websocket_upgrade(event)

    def connection_lost(self, exc: Exception | None) -> None:
        self.forget()
        super().connection_lost(exc)

    def forget(self) -> None:
        self.deadline.cancel()
        self.last.cancel()
        self.fetching.pop(self, None)

    def end(self) -> None:
        self.forget()
        self.transport.abort()


class Server(uvicorn.Server):
    """A server that leaves signals to whoever started it."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def bound(port: int) -> socket.socket:
    """A socket that listens on a port of the loopback address (0: any free one). Raises `NotServed`."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # Windows: else another program could listen here too
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((LOOPBACK, port))
        listening.listen(128)
    except OSError as error:
        listening.close()
        raise NotServed(f"port {port} on {LOOPBACK} cannot be used: {error.strerror}") from None
    return listening


def server(app: ASGIApp) -> Server:
    """The server of an application; `serve(sockets=[…])` runs it."""
    logging.getLogger("uvicorn.error").setLevel(logging.CRITICAL)  # what strangers send is nobody's reading
    protocol = type("OneRequest", (Brief,), {"fetching": {}})
    return Server(
        uvicorn.Config(
            app,
            http=protocol,
            ws="websockets-sansio",
            ws_max_size=LARGEST_MESSAGE,
            ws_ping_interval=PINGED,
            ws_ping_timeout=GONE,
            ws_per_message_deflate=False,
            h11_max_incomplete_event_size=16_384,
            timeout_keep_alive=2,
            timeout_graceful_shutdown=1,
            lifespan="off",
            access_log=False,
            log_config=None,
            server_header=False,
            date_header=False,
        )
    )
