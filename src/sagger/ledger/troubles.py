"""What a database's own words mean for a person: what happened, that nothing was lost, what to do."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
from pathlib import Path

import sqlalchemy as sa

from sagger.errors import LedgerError

SMALL = 1 << 20  # bytes free on a disk; below this a failed write was for want of room
PATIENCE_S = 120.0  # that a writer waits for others
UNUSABLE = (sa.exc.SQLAlchemyError, sqlite3.Error, OSError, OverflowError, UnicodeDecodeError)
RESTORE = "Keep the file aside, and restore the newest copy: sagger ledger restore COPY"


def told(error: Exception, folder: Path, name: str) -> LedgerError | None:
    """What a person is told of an error; None if it speaks of no trouble that a person can mend.

    Parameters
    ----------
    folder : Path
        Of the ledger.
    name : str
        Of the ledger, without a password.
    """
    words = str(getattr(error, "orig", None) or error).lower()
    if isinstance(error, OverflowError) or "out of range" in words:
        return LedgerError("there is no such number in the ledger: it is larger than any that it can hold")
    if isinstance(error, UnicodeDecodeError) or "utf-8" in words:
        return _damaged(name)
    if _is_full(error, words, folder):
        free = shutil.disk_usage(folder).free / 2**20
        what = f"the disk that holds {name} is full ({free:.0f} MiB free); what was booked before is safe"
        return LedgerError(f"{what}. Make room (`sagger ledger tidy` tells what may go), then do this again")
    for signs, told_so in _KNOWN:
        if any(sign in words for sign in signs):
            return told_so(name)
    away = isinstance(error, sa.exc.OperationalError | sa.exc.InterfaceError) and "sqlite" not in name
    return _away(name) if away else None


def _is_full(error: Exception, words: str, folder: Path) -> bool:
    if "disk is full" in words or "no space left" in words:
        return True
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
        return True
    return "disk i/o error" in words and shutil.disk_usage(folder).free < SMALL


def _damaged(name: str) -> LedgerError:
    return LedgerError(f"{name} is damaged; nothing is read or planned from it. {RESTORE}")


def _locked(name: str) -> LedgerError:
    what = f"another program holds {name} and did not let go within {PATIENCE_S:.0f} s; nothing was written"
    return LedgerError(f"{what}. Do this again; if it stays so, see which program has the file open")


def _read_only(name: str) -> LedgerError:
    what = f"{name} or its folder may not be written by you; what is booked is safe"
    return LedgerError(f"{what}. Have the folder opened to you, or set SAGGER_HOME to another")


def _away(name: str) -> LedgerError:
    what = f"{name} cannot be read as a ledger: its server does not answer, or does not let you in"
    return LedgerError(f"{what}. Check SAGGER_LEDGER_URL, and that the server runs; what is booked is safe")


def _strange(name: str) -> LedgerError:
    return LedgerError(f"{name} cannot be read as a ledger: it is none, or damaged. {RESTORE}")


_KNOWN = (
    (("database is locked", "database table is locked", "lock timeout"), _locked),
    (("readonly", "read-only", "permission denied", "unable to open"), _read_only),
    (("not a database",), _strange),
    (("malformed", "disk i/o error", "corrupt", "invalid page", "could not read block"), _damaged),
    (("password authentication", "connection refused", "can't create a connection", 'database "'), _away),
)


def refuse_empty(path: Path) -> None:
    """`LedgerError` if the file of a ledger is there and has nothing in it.

    No ledger of ours is ever empty: it is made aside and put in its place whole.
    """
    if path.exists() and not path.stat().st_size and not path.with_name(f"{path.name}-wal").exists():
        what = f"{path} is there and empty (0 bytes): it was cut, or its copying broke off"
        raise LedgerError(f"{what}. {RESTORE}; only if nothing was ever booked, delete it and begin anew")


def writable(path: Path) -> bool:
    """Whether a ledger's file, and the folder that its log is written to, may be written."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)
