"""What stands between the network and the bench: host, origin, size, session, and what a page may load.

One layer around the whole application, so that no page, file or socket can be reached past it.
"""

from __future__ import annotations

import getpass
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import quote, urlsplit

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse

from sagger.desk import people
from sagger.desk.drafts import MOST_BYTES
from sagger.goods.good import good

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]

COOKIE = "sagger_session"
ENTER = "/enter"
OPEN_PATHS = (ENTER, "/bench/", "/favicon.ico")  # reachable before one came in
LOOPBACK = ("127.0.0.1", "localhost", "::1")
FORM_BYTES = 1 << 20  # of a body that is no upload
READS = ("GET", "HEAD", "OPTIONS")

# Scripts run from files of the bench and where they carry the word of this very answer (`nonce`). The toolkit
# compiles its templates in the browser, hence 'unsafe-eval'; see docs/why/bench.md.
EMPTY = "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='"  # a style element with nothing in it
POLICY = (
    "default-src 'self'; script-src 'self' 'nonce-{nonce}' 'unsafe-eval'; "
    f"style-src-elem 'self' 'nonce-{{nonce}}' {EMPTY}; style-src-attr 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self'; worker-src 'self' blob:; "
    "object-src 'none'; base-uri 'self'; form-action 'self'; frame-src 'self'; frame-ancestors 'self'"
)
# Papers of a job run nothing at all and reach for nothing.
PAPERS = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; font-src data:; sandbox"
HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), usb=(), serial=()",
}


@good
class Rules:
    """How the doors are hung."""

    hosts: tuple[str, ...] = LOOPBACK  # names by which the bench may be called
    accounts: Callable[[], bool] = bool  # whether one must come in first, asked anew each time
    secure: bool = False  # whether cookies go over TLS only


class Doors:
    """The layer; `person` of the request's state says who is asking.

    Parameters
    ----------
    app : callable
        The application behind the doors.
    rules : Rules
        How they are hung.
    """

    def __init__(self, app: Callable[[Scope, Receive, Send], Awaitable[None]], rules: Rules):
        self._app, self._rules = app, rules

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refused = self._refused(scope, headers)
        if refused:
            await _refuse(scope, receive, send, *refused)
            return
        person = who(headers.get("cookie", ""), self._rules)
        if person is None and not scope["path"].startswith(OPEN_PATHS):
            await _send_to_enter(scope, receive, send, headers)
            return
        nonce = secrets.token_urlsafe(16)
        scope.setdefault("state", {}).update(person=person, nonce=nonce)
        await self._app(scope, _counted(receive, _most(scope)), _dressed(send, _policy(scope["path"], nonce)))

    def _refused(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        """Status and reason if the request is refused whoever sends it."""
        host = headers.get("host", "")
        if _name(host) not in self._rules.hosts:
            return 421, "this bench is not called by that name; start it with --host NAME if it should be"
        changes = scope["type"] == "websocket" or scope["method"] not in READS
        origin = headers.get("origin", "")
        if origin and changes and urlsplit(origin).netloc != host:
            return 403, "this came from a page of another site"
        site = headers.get("sec-fetch-site", "same-origin")
        moved = headers.get("sec-fetch-mode") == "navigate" and not changes
        if site not in ("same-origin", "none") and not moved:
            return 403, "this came from a page of another site"
        if int(headers.get("content-length", "0")) > _most(scope):
            return 413, f"more than {_most(scope) >> 20} MiB are not taken here"
        return None


def who(cookies: str, rules: Rules) -> dict[str, Any] | None:
    """Name and role of whoever sent these cookies; the machine's own user where no accounts are asked."""
    if not rules.accounts():
        return {"name": getpass.getuser(), "role": people.ROLES[-1]}
    return people.behind(token_in(cookies))


def token_in(cookies: str) -> str:
    """The session's token in a cookie header, or ""."""
    try:
        jar = SimpleCookie(cookies)
    except CookieError:
        return ""
    return jar[COOKIE].value if COOKIE in jar else ""


def _name(host: str) -> str:
    """Host without port, "::1" of "[::1]:8210"."""
    return host[1:].partition("]")[0] if host.startswith("[") else host.partition(":")[0].lower()


def _most(scope: Scope) -> int:
    """Most bytes of a body."""
    return MOST_BYTES if scope["path"].startswith("/api/inbox/") else FORM_BYTES


def _counted(receive: Receive, most: int) -> Receive:
    """The body as it comes, until it grows beyond what was announced."""
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        if message["type"] == "http.request":
            seen += len(message.get("body", b""))
            if seen > most:
                return {"type": "http.disconnect"}
        return message

    return counted


def _policy(path: str, nonce: str) -> str:
    return PAPERS if path.startswith("/files/") else POLICY.format(nonce=nonce)


def _dressed(send: Send, policy: str = POLICY.format(nonce="none")) -> Send:
    """Answers with the headers that tell the browser what a page may do."""

    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            told = HEADERS | {"content-security-policy": policy}
            had = {name.lower() for name, _ in message["headers"]}
            more = [(k.encode(), v.encode()) for k, v in told.items() if k.encode() not in had]
            if b"cache-control" not in had:
                more.append((b"cache-control", b"no-store"))
            message["headers"] = [*message["headers"], *more]
        await send(message)

    return dressed


async def _send_to_enter(scope: Scope, receive: Receive, send: Send, headers: Headers) -> None:
    page = scope["type"] == "http" and "text/html" in headers.get("accept", "")
    if not page:
        await _refuse(scope, receive, send, 401, "come in first")
        return
    query = scope["query_string"].decode("latin-1")
    then = quote(scope["path"] + (f"?{query}" if query else ""), safe="/")
    await RedirectResponse(f"{ENTER}?then={then}", 303)(scope, receive, _dressed(send))


async def _refuse(scope: Scope, receive: Receive, send: Send, status: int, why: str) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008, "reason": why[:120]})
        return
    await PlainTextResponse(f"refused: {why}\n", status)(scope, receive, _dressed(send))
