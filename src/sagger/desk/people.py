"""Who may come in, and what they may do."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
import unicodedata
from typing import NamedTuple

from sagger.desk import passwords
from sagger.desk.home import ledger
from sagger.errors import InputError
from sagger.goods.record import Person
from sagger.ledger import people


class Cost(NamedTuple):
    """What a guess costs."""

    log2_n: int
    r: int
    p: int


ROLES = ("look", "plan", "approve")  # each may do what the ones before it may
SHORTEST, LONGEST = passwords.SHORTEST, passwords.LONGEST
HOURS = 12.0  # a session, a long shift
# OWASP, Password Storage Cheat Sheet: scrypt with at least N = 2^17, r = 8, p = 1, which is 128 MiB and some
# 0.3 s a guess; RFC 7914, section 2, gives the meaning of the three.
COST = Cost(17, 8, 1)
OLD = Cost(14, 8, 1)  # of accounts that an edition before made; raised when they sign in next
# Letters of other alphabets that look like ours (Unicode Technical Standard 39, the commonest of them).
_SIMILAR = str.maketrans("аеорсухіјѕԁһӏοανρτκ01", "aeopcyxijsdhloavptkol")
_NAME = re.compile(r"[\w][\w .@-]{0,78}")


def add(name: str, role: str, password: str) -> None:
    """Open an account, or give it another role and password; its sessions end, also where both stay.

    Raises
    ------
    InputError
        If the role is unknown, the name will not do or looks like another's, or the password is too short or
        too common.
    """
    if role not in ROLES:
        raise InputError("no such role", field="role", value=role, remedy=f"One of: {', '.join(ROLES)}.")
    if not _NAME.fullmatch(name):
        what = "a name is letters, digits, spaces, dots, @ and dashes, 79 at most"
        raise InputError(what, field="name", value=name[:90])
    _refuse_lookalike(name)
    passwords.check(password, name)
    before = people.named(ledger(), name)
    if before and before.role == role and _fits(password, before.secret) and _cost(before.secret) == COST:
        return people.log_out_everywhere(ledger(), before.id)  # said again, it is the same account
    return people.put(ledger(), name, role, _kept(password))


def close(name: str) -> None:
    """Close an account; its sessions end."""
    if people.named(ledger(), name) is None:
        raise InputError("there is no such account", field="name", value=name)
    people.put(ledger(), name, "", "")


class User(NamedTuple):
    """Someone with an open account."""

    name: str
    role: str  # one of ROLES
    made: str  # when the account was opened or changed last; "" where none is needed


def listed() -> list[User]:
    """Every open account, by name."""
    return [_user(row) for row in people.listed(ledger())]


def log_in(name: str, password: str) -> str | None:
    """Token of a new session, or None if name and password do not fit."""
    row = people.named(ledger(), name)
    # A stranger takes as long as a wrong word, so that names cannot be found out by the clock.
    if not _fits(password, row.secret if row else NOBODY) or row is None:
        return None
    if _cost(row.secret) != COST:
        people.put(ledger(), name, row.role, _kept(password))
        row = people.named(ledger(), name) or row
    token = secrets.token_urlsafe(32)
    people.log_in(ledger(), row.id, token, HOURS)
    return token


def secret(name: str) -> str:
    """What is kept of the password of an account; "" if there is none of that name."""
    row = people.named(ledger(), name)
    return row.secret if row else ""


def of_session(token: str) -> User | None:
    """Whose session this is, or None."""
    row = people.of_session(ledger(), token) if token else None
    return _user(row) if row else None


def log_out(token: str) -> None:
    """End a session."""
    people.log_out(ledger(), token)


def may(role: str, asked: str) -> bool:
    """Whether someone of this role may do what `asked` may."""
    return role in ROLES and ROLES.index(role) >= ROLES.index(asked)


def _user(row: Person) -> User:
    return User(row.name, row.role, row.made)


def _refuse_lookalike(name: str) -> None:
    """Refuse a name that reads as that of another account: in other widths, cases or alphabets."""
    for other in listed():
        if other.name != name and _looks(other.name) == _looks(name):
            what = f"the name looks like that of an account there is, {other.name}"
            raise InputError(what, field="name", value=name, remedy="Take another, or write it as it is.")


def _looks(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).casefold().translate(_SIMILAR)
    return "".join(sign for sign in plain if sign.isalnum())


def _kept(password: str) -> str:
    salt = secrets.token_bytes(16)
    return f"scrypt:{COST.log2_n}:{COST.r}:{COST.p}:{salt.hex()}:{_hashed(password, salt, COST).hex()}"


def _fits(password: str, secret: str) -> bool:
    """Whether a password is the one that is kept; a longer one than there can be is not even looked at."""
    salt, digest = secret.split(":")[-2:]
    made = _hashed(password[: LONGEST + 1], bytes.fromhex(salt), _cost(secret)).hex()
    return hmac.compare_digest(made, digest) and len(password) <= LONGEST


def _cost(kept: str) -> Cost:
    parts = kept.split(":")
    return Cost(*map(int, parts[1:4])) if parts[0] == "scrypt" else OLD


def _hashed(password: str, salt: bytes, cost: Cost) -> bytes:
    n = 1 << cost.log2_n
    word = unicodedata.normalize("NFKC", password).encode()
    most = 256 * n * cost.r  # bytes; the work itself takes half of that
    return hashlib.scrypt(word, salt=salt, n=n, r=cost.r, p=cost.p, maxmem=most, dklen=32)


NOBODY = f"scrypt:{COST.log2_n}:{COST.r}:{COST.p}:00:"
