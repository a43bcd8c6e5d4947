"""Runs the page on an address of this machine: the socket, the server, and a look at whether it answers."""

from __future__ import annotations

import asyncio
import http.client
import ipaddress
import secrets
import socket
import threading
import time
from typing import TYPE_CHECKING

from advisor.ground.errors import InputError
from advisor.ground.units import shown

if TYPE_CHECKING:
    from collections.abc import Callable

    import uvicorn
    from starlette.types import ASGIApp

HOST, PORT = "127.0.0.1", 8473
BACKLOG = 1024
MOST_AT_ONCE = 400  # connections; more are told to come again
HEADER_BYTES, HEADER_SECONDS = 16_384, 10.0
NAMES = ("127.0.0.1", "localhost", "[::1]")


def _is_address(host: str) -> bool:
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True


def is_own(host: str) -> bool:
    """Whether an address reaches no further than this machine.

    >>> is_own("127.0.0.1"), is_own("::1"), is_own("192.168.1.5"), is_own("0.0.0.0")
    (True, True, False, False)
    """
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def read_port(text: str | None) -> int:
    """A port, the usual one if None. Raises InputError."""
    if text is None:
        return PORT
    if not text.isascii() or not text.isdecimal() or not 0 <= int(text[:9]) <= 65535:
        raise InputError("--port", text, "is no port", "Give a number from 1024 to 65535, or 0 for any that is free.")
    return int(text)


class Place:
    """An address that is listened on. host, port: of it; token: what another machine has to know, None on this one."""

    def __init__(self, host: str, port: int) -> None:
        if host != "localhost" and not _is_address(host):
            fix = "Give an address of this machine, such as 127.0.0.1 or 192.168.0.5."
            raise InputError("--host", shown(host), "is no address", fix)
        self.token = None if is_own(host) else secrets.token_urlsafe(18)
        try:
            kind = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
            self.socket = socket.socket(kind, socket.SOCK_STREAM)
            self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            self.socket.bind((host, port))
            self.socket.listen(BACKLOG)
        except OSError as problem:
            where = f"{host}:{port}"
            fix = "Give another --port, or 0 for any that is free; --host is an address of this machine."
            raise InputError("page", where, f"cannot be listened on ({problem.strerror})", fix) from None
        self.host, self.port = host, self.socket.getsockname()[1]

    @property
    def names(self) -> list[str]:
        """What a browser may call it by."""
        own = f"[{self.host}]" if ":" in self.host else self.host.lower()
        return [f"{name}:{self.port}" for name in dict.fromkeys((own, *NAMES))]

    @property
    def address(self) -> str:
        """What is opened in a browser."""
        return f"http://{self.names[0]}/" + (f"?token={self.token}" if self.token else "")


def _server(app: ASGIApp, ready: Callable[[], object] = lambda: None) -> uvicorn.Server:
    """A server that bounds how many ask at once, and how long they may take to say what."""
    import uvicorn
    from uvicorn.protocols.http.h11_impl import H11Protocol

    class Patient(H11Protocol):
        """Closes a connection that has not said what it wants in time."""

        def connection_made(self, transport: asyncio.Transport) -> None:
            super().connection_made(transport)
            self.late = self.loop.call_later(HEADER_SECONDS, self._too_late)

        def _too_late(self) -> None:
            if self.cycle is None:
                self.transport.close()

        def connection_lost(self, exc: Exception | None) -> None:
            self.late.cancel()
            super().connection_lost(exc)

    class Server(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets=sockets)
            ready()

    return Server(
        uvicorn.Config(
            app,
            http=Patient,
            ws="none",
            loop="asyncio",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            proxy_headers=False,
            backlog=BACKLOG,
            limit_concurrency=MOST_AT_ONCE,
            timeout_keep_alive=5,
            timeout_graceful_shutdown=2,
            h11_max_incomplete_event_size=HEADER_BYTES,
        )
    )


def serve(app: ASGIApp, place: Place, *, ready: Callable[[], object] = lambda: None) -> None:
    """Answer until somebody stops it. app: ASGI application; ready: called once it answers."""
    asyncio.run(_server(app, ready).serve(sockets=[place.socket]))


class Running:
    """A server beside this thread, until it is stopped."""

    def __init__(self, app: ASGIApp, place: Place) -> None:
        self._answers = threading.Event()
        self._server = _server(app, self._answers.set)
        self._thread = threading.Thread(target=self._run, args=(place,), daemon=True)
        self._thread.start()
        self._answers.wait(timeout=20)

    def _run(self, place: Place) -> None:
        asyncio.run(self._server.serve(sockets=[place.socket]))

    def stop(self) -> None:
        """Answer nothing more."""
        self._server.should_exit = True
        self._thread.join(timeout=10)


def first_page(place: Place) -> tuple[int, int, float]:
    """What the first page of a running server is: (status, bytes, seconds to its first byte)."""
    started = time.perf_counter()
    asked = http.client.HTTPConnection(place.host, place.port, timeout=10)
    try:
        asked.request("GET", "/", headers={"Host": place.names[0]})
        reply = asked.getresponse()
        body = reply.read()
    finally:
        asked.close()
    return reply.status, len(body), time.perf_counter() - started


def checked(app: ASGIApp, place: Place) -> tuple[int, int, float]:
    """Start, ask for the first page, stop -> (status, bytes, seconds to its first byte)."""
    server = Running(app, place)
    try:
        return first_page(place)
    finally:
        server.stop()
