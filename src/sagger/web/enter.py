"""Coming in and leaving: a plain form, so that the session's cookie is out of reach of any script."""

from __future__ import annotations

import asyncio
import hmac
import secrets
import time
from urllib.parse import parse_qs

from fastapi import APIRouter, Request
from markupsafe import Markup, escape
from starlette.responses import HTMLResponse, RedirectResponse, Response

from sagger.desk import people
from sagger.web.doors import COOKIE, ENTER, Rules, token_in

router = APIRouter()
SEAL = "sagger_form"  # the form's own token, against a form sent from elsewhere
TRIES, WITHIN_S = 5, 300.0  # wrong words from one address before it has to wait
_PAGE = Markup(
    """<!doctype html><html lang="en"><meta charset="utf-8"><title>Come in · Sagger</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/bench/bench.css">
<body class="enter {theme}"><main class="page"><h1>Come in</h1>{said}
<form method="post" action="/enter"><input type="hidden" name="seal" value="{seal}">
<input type="hidden" name="then" value="{then}">
<label>Name <input name="name" autocomplete="username" required autofocus></label>
<label>Password <input name="password" type="password" autocomplete="current-password" required></label>
<button class="solid">Come in</button></form></main></body></html>"""
)


@router.get(ENTER)
def ask(request: Request, then: str = "/") -> Response:
    """The form."""
    return _form(request, then, "")


@router.post(ENTER)
async def come_in(request: Request) -> Response:
    """A new session, or the form again with what was wrong."""
    form = {
        key: value[0] for key, value in parse_qs((await request.body()).decode("utf-8", "replace")).items()
    }
    then, seal = form.get("then", "/"), request.cookies.get(SEAL, "")
    if not seal or not hmac.compare_digest(seal, form.get("seal", "")):
        return _form(request, then, "The form was too old. Try again.", 403)
    tries: dict[str, list[float]] = request.app.state.tries
    address = request.client.host if request.client else ""
    recent = [at for at in tries.get(address, []) if time.monotonic() - at < WITHIN_S]
    if len(recent) >= TRIES:
        tries[address] = recent
        wait = round((WITHIN_S - (time.monotonic() - recent[0])) / 60) or 1
        return _form(request, then, f"Too many wrong words. Try again in {wait} min.", 429)
    token = await asyncio.to_thread(people.come_in, form.get("name", ""), form.get("password", ""))
    if token is None:
        tries[address] = [*recent, time.monotonic()]
        return _form(request, then, "Name and password do not fit.", 403)
    answer = RedirectResponse(_own(then), 303)
    rules: Rules = request.app.state.rules
    seconds = int(people.HOURS * 3600)
    answer.set_cookie(COOKIE, token, max_age=seconds, httponly=True, samesite="strict", secure=rules.secure)
    return answer


@router.post("/leave")
def leave(request: Request) -> Response:
    """The session ends."""
    people.leave(token_in(request.headers.get("cookie", "")))
    answer = RedirectResponse(ENTER, 303)
    answer.delete_cookie(COOKIE, httponly=True, samesite="strict")
    return answer


def _form(request: Request, then: str, said: str, status: int = 200) -> Response:
    seal = secrets.token_urlsafe(24)
    words = Markup('<p class="said" role="alert">{}</p>').format(said) if said else ""
    theme = "body--dark" if request.cookies.get("sagger_theme") == "dark" else ""
    page = _PAGE.format(said=words, seal=seal, then=escape(_own(then)), theme=theme)
    answer = HTMLResponse(page, status)
    answer.set_cookie(SEAL, seal, max_age=3600, httponly=True, samesite="strict", path=ENTER)
    return answer


def _own(then: str) -> str:
    """A path of this bench; never another site's."""
    plain = then.startswith("/") and not then.startswith(("//", "/\\"))
    return then if plain and "\n" not in then and "\r" not in then else "/"
