"""Whose session a page belongs to, and what its person may do."""

from __future__ import annotations

from nicegui import app, context

from sagger.desk import people
from sagger.errors import InputError
from sagger.web.security import AccessRules, session_person


def rules() -> AccessRules:
    """Who may reach this server."""
    in_force: AccessRules = app.state.rules
    return in_force


def person() -> people.User:
    """Name and role of whoever looks at the page; asked anew each time, so that a closed account counts."""
    present = session_person(context.client.request.headers.get("cookie", ""), rules())
    if present is None:
        raise InputError("your session has ended", remedy="Sign in again.")
    return present


def account_name() -> str:
    """Name of the account that is signed in; "" where there are no accounts."""
    return person().name if rules().accounts() else ""


def require(role: str) -> people.User:
    """The person, if they may do what `role` may; `InputError` otherwise."""
    present = person()
    if not people.may(present.role, role):
        what = f"your account may {present.role}, this asks for {role}"
        raise InputError(what, remedy="Ask someone who may.")
    return present


def nonce() -> str:
    """What a script in this very page must carry, see `nonce`."""
    word: str = context.client.request.state.nonce
    return word
