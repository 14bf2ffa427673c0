"""What each request must pass: host, origin, size, session; and what a page may load.

One middleware around the whole application, so that no page, file or socket can be reached past it.
"""

from __future__ import annotations

import asyncio
import getpass
import logging
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import quote, urlsplit

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse

from sagger.desk import people
from sagger.desk.uploads import MOST_BYTES
from sagger.goods.good import good
from sagger.web import routes
from sagger.web.half_open import BODY_S

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]

LOG = logging.getLogger("sagger.web")
COOKIE = "sagger_session"
LOGIN, LOGOUT = "/login", "/logout"
LOOPBACK = ("127.0.0.1", "localhost", "::1")
FORM_BYTES = 1 << 20  # of a body that is no upload
UPLOADS = "/api/uploads/"
NOWHERE = "/there-is-no-such-page"  # where requests without a rule are sent
YEAR_S = 31_536_000

# Scripts run from files of the bench and where they carry the nonce of this very answer. The toolkit
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
class AccessRules:
    """Who may reach this server, and by which names."""

    hosts: tuple[str, ...] = LOOPBACK  # names by which the bench may be called
    accounts: Callable[[], bool] = bool  # whether a session is needed, asked anew each time
    secure: bool = False  # whether cookies go over TLS only


class SecurityMiddleware:
    """Hands on what may pass; `person` of the request's state says who is asking.

    Parameters
    ----------
    app : callable
        The application.
    rules : AccessRules
        Who may reach it.
    """

    def __init__(self, app: Callable[[Scope, Receive, Send], Awaitable[None]], rules: AccessRules):
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
        person = session_person(headers.get("cookie", ""), self._rules)
        rule = routes.rule(scope.get("method", "WEBSOCKET"), scope["path"])
        if person is None and (rule is None or rule.may):
            await _redirect_to_login(scope, receive, send, headers)
            return
        if rule is None:
            scope = {**scope, "path": NOWHERE, "raw_path": NOWHERE.encode()}
        elif person is not None and rule.may and not people.may(person.role, rule.may):
            why = f"your account may {person.role}, this asks for {rule.may}"
            LOG.warning("%.80r, %.120r: %s", person.name, scope["path"], why)
            await _refuse(scope, receive, send, 403, why)
            return
        nonce = secrets.token_urlsafe(16)
        scope.setdefault("state", {}).update(person=person, nonce=nonce)
        limited = _limited(receive, _most_bytes(scope))
        await self._app(
            scope, limited, _with_headers(send, _policy(scope["path"], nonce), secure=self._rules.secure)
        )

    def _refused(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        """Status and reason if the request is refused whoever sends it."""
        host = headers.get("host", "")
        if not host or _bare_host(host) not in self._rules.hosts:
            return 421, "this bench is not called by that name; start it with --host NAME if it should be"
        changes = scope["type"] == "websocket" or scope["method"] not in routes.READS
        origin = headers.get("origin", "")
        if origin and changes and urlsplit(origin).netloc != host:
            return 403, "this came from a page of another site"
        site = headers.get("sec-fetch-site", "same-origin")
        moved = headers.get("sec-fetch-mode") == "navigate" and not changes
        if site not in ("same-origin", "none") and not moved:
            return 403, "this came from a page of another site"
        length = headers.get("content-length", "0")
        if not length.isdecimal() or len(length) > 15:
            return 400, "the length of this request is no number"
        if int(length) > _most_bytes(scope):
            return 413, f"more than {_most_bytes(scope) >> 20} MiB are not taken here"
        return None


def session_person(cookies: str, rules: AccessRules) -> people.User | None:
    """Name and role of whoever sent these cookies; the machine's own user where there are no accounts."""
    if not rules.accounts():
        return people.User(getpass.getuser(), people.ROLES[-1], "")
    return people.of_session(session_token(cookies))


def session_token(cookies: str) -> str:
    """The session's token in a cookie header, or ""."""
    try:
        jar = SimpleCookie(cookies)
    except CookieError:
        return ""
    return jar[COOKIE].value if COOKIE in jar else ""


def _bare_host(host: str) -> str:
    """Host without port, "::1" of "[::1]:8210"."""
    return host[1:].partition("]")[0] if host.startswith("[") else host.partition(":")[0].lower()


def _most_bytes(scope: Scope) -> int:
    """Most bytes of a body."""
    return MOST_BYTES if scope["path"].startswith(UPLOADS) else FORM_BYTES


def _limited(receive: Receive, most: int) -> Receive:
    """The body as it comes, until it grows beyond what was announced."""
    seen = 0

    whole = False

    async def limited() -> Message:
        nonlocal seen, whole
        try:
            message = await asyncio.wait_for(receive(), None if whole else BODY_S)
        except TimeoutError:
            return {"type": "http.disconnect"}
        if message["type"] != "http.request":
            whole = True  # a socket, or the end: there is nothing more to be waited for
            return message
        seen += len(message.get("body", b""))
        whole = not message.get("more_body", False)
        return {"type": "http.disconnect"} if seen > most else message

    return limited


def _policy(path: str, nonce: str) -> str:
    return PAPERS if path.startswith("/files/") else POLICY.format(nonce=nonce)


def _with_headers(send: Send, policy: str = POLICY.format(nonce="none"), *, secure: bool = False) -> Send:
    """Answers with the headers that tell the browser what a page may do."""

    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            wanted = HEADERS | {"content-security-policy": policy}
            if secure:  # RFC 6797
                wanted |= {"strict-transport-security": f"max-age={YEAR_S}"}
            present = {name.lower() for name, _ in message["headers"]}
            more = [(k.encode(), v.encode()) for k, v in wanted.items() if k.encode() not in present]
            if b"cache-control" not in present:
                more.append((b"cache-control", b"no-store"))
            message["headers"] = [*message["headers"], *more]
        await send(message)

    return with_headers


async def _redirect_to_login(scope: Scope, receive: Receive, send: Send, headers: Headers) -> None:
    page = scope["type"] == "http" and "text/html" in headers.get("accept", "")
    if not page:
        await _refuse(scope, receive, send, 401, "sign in first")
        return
    query = scope["query_string"].decode("latin-1")
    then = quote(scope["path"] + (f"?{query}" if query else ""), safe="/")
    await RedirectResponse(f"{LOGIN}?then={then}", 303)(scope, receive, _with_headers(send))


async def _refuse(scope: Scope, receive: Receive, send: Send, status: int, why: str) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008, "reason": why[:120]})
        return
    await PlainTextResponse(f"refused: {why}\n", status)(scope, receive, _with_headers(send))
