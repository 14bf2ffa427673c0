"""Accounts and what each role may do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

from sagger.desk.people import User
from sagger.errors import InputError
from sagger.views.wording import moment
from sagger.web import markup

ROLES = {
    "look": "sees everything",
    "plan": "also brings orders, changes and plans them, enters readings, changes cards",
    "approve": "also approves plans and factors, and opens accounts",
}
HIGHEST = "approve"
OPEN_BENCH = (
    "<p>No accounts: the bench is open to whoever works on this machine. Once the first one is "
    "open, everybody has to sign in by name and password, at once. It has to be one that may "
    "approve, so that it can open the others.</p>"
)
HEAD = ("Name", "may", "since, UTC")


def accounts(listed: Sequence[User]) -> Markup:
    """What each role may do, and every account."""
    roles = markup.facts(ROLES.items())
    return roles + (markup.table(HEAD, map(row, listed), "Accounts") if listed else Markup(OPEN_BENCH))


def row(account: User) -> tuple[object, ...]:
    """One account under `HEAD`."""
    return account.name, account.role, moment(account.made)


def usual_role(listed: Sequence[User]) -> str:
    """The role that the form offers first."""
    return next(iter(ROLES)) if listed else HIGHEST


def check_first(listed: Iterable[User], role: str) -> None:
    """Refuse a first account that could open no others."""
    if not list(listed) and role != HIGHEST:
        remedy = f"Choose {HIGHEST}; it can open the others."
        raise InputError("nobody could approve", field="may", value=role, remedy=remedy)


def check_not_own(name: str, person: str) -> None:
    """Refuse that a person closes the account they are signed in with."""
    if name == person:
        raise InputError("your own account is closed by somebody else", field="name", value=name)
