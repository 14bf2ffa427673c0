"""Login and logout: a plain form, so that the session's cookie is out of reach of any script."""

from __future__ import annotations

import asyncio
import hmac
import logging
import math
import secrets
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import parse_qs

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from sagger.desk import people
from sagger.web.security import COOKIE, LOGIN, LOGOUT, AccessRules, session_token
from sagger.web.static_page import static_page
from sagger.web.tries import Tries, device_word, recognised

router = APIRouter()
CSRF = "sagger_form"  # cookie with the form's own token, against a form sent from another site
DEVICE = "sagger_known"  # cookie of a browser that an account has signed in from
KNOWN_S = 180 * 86400
LOG = logging.getLogger("sagger.web")
HASHING = ThreadPoolExecutor(2)  # passwords looked at at once: each takes 128 MiB
_FORM = Markup(
    """{refusal}<form method="post" action="/login"><input type="hidden" name="csrf" value="{csrf}">
<input type="hidden" name="then" value="{then}">
<label>Name <input name="name" value="{name}" autocomplete="username" required autofocus></label>
<label>Password <input name="password" type="password" autocomplete="current-password" required></label>
<button class="solid">Sign in</button></form>"""
)


@router.get(LOGIN)
def login_form(request: Request, then: str = "/") -> Response:
    """The form, with the page that was asked for."""
    return _form(request, then, "")


@router.post(LOGIN)
async def login(request: Request) -> Response:
    """A new session, or the form again with what was wrong."""
    body = (await request.body()).decode("utf-8", "replace")
    fields = {key: values[0] for key, values in parse_qs(body).items()}
    then, csrf = fields.get("then", "/"), request.cookies.get(CSRF, "")
    if not csrf or not hmac.compare_digest(csrf, fields.get("csrf", "")):
        return _form(request, then, "The form was too old. Try again.", 403)
    tries: Tries = request.app.state.tries
    name, password = fields.get("name", "").strip(), fields.get("password", "")
    address = request.client.host if request.client else ""
    secret = await asyncio.to_thread(people.secret, name)
    who = name, address, recognised(request.cookies.get(DEVICE, ""), name, secret)
    wait = tries.begin(*who)  # counted here, before the password is looked at: many at once are many
    if wait > 0:
        LOG.warning("sign-in of %.80r from %s: too many tries", name, address)
        minutes = math.ceil(wait / 60)
        return _form(request, then, f"Too many wrong passwords. Try again in {minutes} min.", 429)
    token = await asyncio.get_running_loop().run_in_executor(HASHING, people.log_in, name, password)
    if token is None:
        LOG.warning("sign-in of %.80r from %s: refused", name, address)
        return _form(request, then, "Name and password do not fit.", 403, name[:80])
    LOG.warning("sign-in of %.80r from %s", name, address)
    tries.end(*who)
    return _signed_in(request, then, token, device_word(name, await asyncio.to_thread(people.secret, name)))


def _signed_in(request: Request, then: str, token: str, device: str) -> Response:
    answer = RedirectResponse(_local_path(then), 303)
    rules: AccessRules = request.app.state.rules
    seconds = int(people.HOURS * 3600)
    for name, word, age, path in ((COOKIE, token, seconds, "/"), (DEVICE, device, KNOWN_S, LOGIN)):
        answer.set_cookie(
            name, word, max_age=age, path=path, httponly=True, samesite="strict", secure=rules.secure
        )
    return answer


@router.post(LOGOUT)
def logout(request: Request) -> Response:
    """End the session."""
    people.log_out(session_token(request.headers.get("cookie", "")))
    answer = RedirectResponse(LOGIN, 303, {"clear-site-data": '"cache", "storage"'})
    answer.delete_cookie(COOKIE, httponly=True, samesite="strict")
    return answer


def _form(request: Request, then: str, refusal: str, status: int = 200, name: str = "") -> Response:
    csrf = secrets.token_urlsafe(24)
    alert = Markup('<p class="said" role="alert">{}</p>').format(refusal) if refusal else ""
    form = _FORM.format(refusal=alert, csrf=csrf, then=_local_path(then), name=name)
    answer = static_page(request, "Sign in", form, status)
    rules: AccessRules = request.app.state.rules
    answer.set_cookie(
        CSRF, csrf, max_age=3600, httponly=True, samesite="strict", path=LOGIN, secure=rules.secure
    )
    return answer


def _local_path(then: str) -> str:
    """A path of this bench; never another site's."""
    plain = then.startswith("/") and not then.startswith(("//", "/\\"))
    return then if plain and "\n" not in then and "\r" not in then else "/"
