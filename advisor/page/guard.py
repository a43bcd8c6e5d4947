"""What stands before the page: who may ask, how much, and for how long. Knows nothing of what is served."""

from __future__ import annotations

import asyncio
import hmac
import secrets
from html import escape
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

LONGEST_ADDRESS = 8_000  # bytes of path and query
FORM_BYTES, FORM_SECONDS = 64_000, 10.0
FILE_BYTES, FILE_SECONDS = 60_000_000, 90.0
COOKIE = "turn-radius"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=()"),
)


class Refused(Exception):
    """A request that is not answered: status, and what is wrong with it in the four parts of an InputError."""

    def __init__(self, status: int, field: str, value: str, problem: str, fix: str) -> None:
        super().__init__(problem)
        self.status, self.parts = status, (field, value, problem, fix)


class Secrets:
    """What only this run of the server knows. form: what a form has to carry to be believed; token: what another machine
    needs, None for none."""

    def __init__(self, token: str | None = None) -> None:
        self.form = secrets.token_hex(32)
        self.token = token

    def believed(self, given: object) -> bool:
        """Whether a form came from a screen of this run of the server."""
        return hmac.compare_digest(str(given or "").encode(), self.form.encode())

    def admitted(self, given: object) -> bool:
        """Whether somebody knows the token, where one is needed."""
        return self.token is None or hmac.compare_digest(str(given or "").encode(), self.token.encode())


class Guard:
    """An ASGI application before another: refuses what is not from one of its own screens, is too large or too slow.

    hosts: what a request may call this server by ("127.0.0.1:8765"); secrets: Secrets; files: paths to which a file may
    be sent.
    """

    def __init__(self, app: ASGIApp, *, hosts: Iterable[str], secrets: Secrets, files: Iterable[str] = ()) -> None:
        self.app, self.hosts, self.secrets, self.files = app, frozenset(hosts), secrets, frozenset(files)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        started = False

        async def answer(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                named = {name for name, _ in message.get("headers", ())}
                message["headers"] = [*message.get("headers", ()), *(pair for pair in HEADERS if pair[0] not in named)]
                if b"cache-control" not in named:
                    message["headers"].append((b"cache-control", b"no-store"))
            await send(message)

        try:
            entered = self._look_at(scope)
            if entered:
                await _redirect(answer, *entered)
            else:
                await self.app(scope, self._bounded(scope, receive), answer)
        except Refused as no:
            if not started:
                await refuse(answer, no)
        except Exception as problem:  # a mistake of ours, which must not look like an answer
            if not started:
                await refuse(answer, fault(problem))

    def _look_at(self, scope: Scope) -> tuple[str, str] | None:
        """Raises Refused for a request that is not answered; (address, cookie) where a token was brought along."""
        headers: dict[bytes, list[str]] = {}
        for name, value in scope["headers"]:
            headers.setdefault(name, []).append(value.decode("latin-1"))
        if len(scope.get("raw_path") or b"") + len(scope["query_string"]) > LONGEST_ADDRESS:
            raise Refused(414, "address", "", "is too long", f"It may have {LONGEST_ADDRESS:,} bytes.")
        host = headers.get(b"host", [])
        if len(host) != 1 or host[0].lower() not in self.hosts:
            fix = "Open it by the address that turn-radius page printed."
            raise Refused(421, "host", ", ".join(host)[:80], "is not what this server is called", fix)
        if scope["method"] not in ("GET", "HEAD", "POST"):
            raise Refused(405, "method", scope["method"][:20], "is not answered here", "Use GET or POST.")
        self._from_here(scope, headers, f"http://{host[0].lower()}")
        self._small_enough(scope, headers)
        return self._token(scope, headers)

    def _from_here(self, scope: Scope, headers: Mapping[bytes, list[str]], own: str) -> None:
        """Refuses what another site has a browser do."""
        origins = headers.get(b"origin", [])
        site = headers.get(b"sec-fetch-site", ["none"])[0]
        writes = scope["method"] == "POST"
        fix = "Send it from this server's own page."
        if any(origin.lower() != own for origin in origins) or writes and not origins:
            raise Refused(403, "origin", ", ".join(origins)[:80], "is another site's, or nobody's", fix)
        opened = headers.get(b"sec-fetch-dest", ["document"])[0] == "document"
        if site not in ("same-origin", "none") and (writes or not opened):
            raise Refused(403, "origin", site[:20], "is another site's", fix)

    def _small_enough(self, scope: Scope, headers: Mapping[bytes, list[str]]) -> None:
        told = headers.get(b"content-length", ["0"])
        most = self._most(scope)[0]
        if len(told) != 1 or not told[0].isdecimal() or len(told[0]) > 12:
            raise Refused(400, "content-length", told[0][:20], "is no length", "Send one number.")
        if int(told[0]) > most:
            raise _too_large(most)

    def _most(self, scope: Scope) -> tuple[int, float]:
        sent = scope["method"] == "POST" and scope["path"] in self.files
        return (FILE_BYTES, FILE_SECONDS) if sent else (FORM_BYTES, FORM_SECONDS)

    def _token(self, scope: Scope, headers: Mapping[bytes, list[str]]) -> tuple[str, str] | None:
        if self.secrets.token is None:
            return None
        cookies = [part.strip().partition("=") for line in headers.get(b"cookie", ()) for part in line.split(";")]
        if any(name == COOKIE and self.secrets.admitted(value) for name, _, value in cookies):
            return None
        given = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if scope["method"] == "GET" and given and self.secrets.admitted(given):
            return scope["path"], f"{COOKIE}={self.secrets.token}; HttpOnly; SameSite=Strict; Path=/"
        fix = "Open it by the whole address that turn-radius page printed, with what stands behind token=."
        raise Refused(401, "token", "", "is missing or wrong", fix)

    def _bounded(self, scope: Scope, receive: Receive) -> Receive:
        """receive, which gives up on a body that is too large or too slow."""
        most, seconds = self._most(scope)
        loop = asyncio.get_running_loop()
        ends, size, whole = loop.time() + seconds, 0, False

        async def bounded() -> Message:
            nonlocal size, whole
            if whole:
                return await receive()
            try:
                async with asyncio.timeout_at(ends):
                    message = await receive()
            except TimeoutError:
                raise Refused(408, "request", "", f"took more than {seconds:g} s", "Send it again.") from None
            if message["type"] == "http.request":
                size += len(message.get("body", b""))
                whole = not message.get("more_body", False)
                if size > most:
                    raise _too_large(most)
            return message

        return bounded


def _too_large(most: int) -> Refused:
    return Refused(413, "request", "", "is too large", f"It may have {most:,} bytes.")


def fault(problem: BaseException) -> Refused:
    """What is told of a mistake in this program: what, and where in it."""
    import os
    import traceback

    frames = traceback.extract_tb(problem.__traceback__)
    where = f"{os.path.basename(frames[-1].filename)}, line {frames[-1].lineno}" if frames else "no place"
    what = f"{type(problem).__name__} in {where}"
    fix = "Nothing that it said can be relied on. Please report it."
    return Refused(500, "turn-radius", what, "is a fault in the program itself", fix)


def refusal(no: Refused) -> bytes:
    """What is wrong with a request, as a page in bytes."""
    field, value, problem, fix = map(escape, no.parts)
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        '<title>Not answered</title><link rel="stylesheet" href="/static/page.css"></head><body><main class="narrow">'
        f'<h1>Not answered</h1><div class="wrong" role="alert"><p><strong>{field}</strong> {value} {problem}.</p><p>{fix}</p></div>'
        '<p><a class="big" href="/">To the first page</a></p></main></body></html>'
    ).encode()


async def refuse(send: Send, no: Refused) -> None:
    """Answer with what is wrong."""
    body = refusal(no)
    headers = [(b"content-type", b"text/html; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": no.status, "headers": [*headers, (b"connection", b"close")]})
    await send({"type": "http.response.body", "body": body})


async def _redirect(send: Send, path: str, cookie: str) -> None:
    headers = [(b"location", path.encode()), (b"set-cookie", cookie.encode()), (b"content-length", b"0")]
    await send({"type": "http.response.start", "status": 303, "headers": headers})
    await send({"type": "http.response.body", "body": b""})
