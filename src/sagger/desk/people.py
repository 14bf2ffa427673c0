"""Who may come in, and what they may do."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from typing import Any

from sagger.desk.home import ledger
from sagger.errors import InputError
from sagger.ledger import people

ROLES = ("look", "plan", "approve")  # each may do what the ones before it may
SHORTEST = 10  # characters of a password
HOURS = 12.0  # a session, a long shift
# Memory 16 MiB and some 50 ms a guess; RFC 7914, section 2, gives the meaning of the three.
_N, _R, _P = 2**14, 8, 1
_NAME = re.compile(r"[\w][\w .@-]{0,78}")


def add(name: str, role: str, password: str) -> None:
    """Open an account, or give it another role and password.

    Raises
    ------
    InputError
        If the role is unknown, the name will not do or the password is too short.
    """
    if role not in ROLES:
        raise InputError("no such role", field="role", value=role, remedy=f"One of: {', '.join(ROLES)}.")
    if not _NAME.fullmatch(name):
        what = "a name is letters, digits, spaces, dots, @ and dashes, 79 at most"
        raise InputError(what, field="name", value=name[:90])
    if len(password) < SHORTEST:
        raise InputError(f"a password has at least {SHORTEST} characters", field="password")
    salt = secrets.token_bytes(16)
    people.put(ledger(), name, role, f"{salt.hex()}:{_hashed(password, salt).hex()}")


def close(name: str) -> None:
    """Close an account; its sessions end."""
    if people.named(ledger(), name) is None:
        raise InputError("there is no such account", field="name", value=name)
    people.put(ledger(), name, "", "")


def listed() -> list[dict[str, str]]:
    """Name, role and date of every open account."""
    return [{fact: row[fact] for fact in ("name", "role", "made")} for row in people.listed(ledger())]


def come_in(name: str, password: str) -> str | None:
    """Token of a new session, or None if name and password do not fit."""
    row = people.named(ledger(), name)
    salt, _, kept = (row["secret"] if row else "00:").partition(":")
    # A stranger takes as long as a wrong word, so that names cannot be found out by the clock.
    same = hmac.compare_digest(_hashed(password, bytes.fromhex(salt)).hex(), kept)
    if row is None or not same:
        return None
    token = secrets.token_urlsafe(32)
    people.come_in(ledger(), row["id"], token, HOURS)
    return token


def behind(token: str) -> dict[str, Any] | None:
    """Name and role of the person whose session this is, or None."""
    row = people.behind(ledger(), token) if token else None
    return {"name": row["name"], "role": row["role"]} if row else None


def leave(token: str) -> None:
    """End a session."""
    people.leave(ledger(), token)


def may(role: str, asked: str) -> bool:
    """Whether someone of this role may do what `asked` may."""
    return role in ROLES and ROLES.index(role) >= ROLES.index(asked)


def _hashed(password: str, salt: bytes) -> bytes:
    return hashlib.scrypt(password.encode(), salt=salt, n=_N, r=_R, p=_P, dklen=32)
