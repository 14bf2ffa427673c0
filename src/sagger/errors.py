"""Everything that can go wrong, drawn as a tree.

SaggerError                 what a person is told; says what, where, the value, the limit, what to do
├── InputError              something given to us is refused: file, field, value, remedy
│   ├── OrderError          the order file
│   ├── CardError           a card
│   ├── LotError            a powder lot's file, or a table of measurements
│   └── PartFileError       a part file (broken, hostile, empty, of unknown kind or unit)
├── LawError                a law was asked outside its range
├── LedgerError             the ledger cannot be opened, read or written
├── DiskError               a file cannot be written: its disk is full, or not ours to write
└── StopError               the process cannot do what was asked: the clear "no"

Cancelled (BaseException)   a person said stop; never swallowed by a library's broad handler
"""

from __future__ import annotations

import errno

FULL = (errno.ENOSPC, errno.EDQUOT)
NOT_OURS = (errno.EROFS, errno.EACCES, errno.EPERM)


class SaggerError(Exception):
    """What a person is told when work stops."""


class InputError(SaggerError):
    """Something given to us is refused.

    Parameters
    ----------
    what : str
        What is wrong, in one clause.
    file, field, value : str
        Where it stands: file name, field inside the file, value as given. Empty when there is none.
    remedy : str
        What to do about it.
    """

    def __init__(self, what: str, *, file: str = "", field: str = "", value: object = "", remedy: str = ""):
        self.what, self.file, self.field, self.value, self.remedy = what, file, field, value, remedy
        where = ", ".join(part for part in (file, field) if part)
        got = f" (got {value!r})" if value != "" else ""
        head = f"{where}: {what}{got}" if where else f"{what}{got}"
        super().__init__(f"{head}. {remedy}" if remedy else head)


class OrderError(InputError):
    """The order file is refused."""


class CardError(InputError):
    """A card is refused."""


class LotError(InputError):
    """A powder lot's file, or a table of measurements, is refused."""


class PartFileError(InputError):
    """A part file is refused."""


class LawError(SaggerError):
    """A law was asked outside its range."""


class LedgerError(SaggerError):
    """The ledger cannot be opened, read or written."""


class DiskError(SaggerError):
    """A file cannot be written: its disk is full, or not ours to write."""


class StopError(SaggerError):
    """The process cannot do what was asked."""


class Cancelled(BaseException):
    """A person said stop."""


def not_written(error: OSError, what: object = "") -> DiskError | None:
    """What a person is told of a file that could not be written; None if that is not what an error says.

    Parameters
    ----------
    what : path or str, optional
        What was to be written; the file that the error names if not given.
    """
    name = what or error.filename or "a file"
    if error.errno in FULL:
        room = "make room there (`sagger ledger tidy` tells what may go), then do this again"
        return DiskError(f"{name} cannot be written: the disk is full; {room}")
    if error.errno in NOT_OURS:
        other = "have it opened to you, or name another place"
        return DiskError(f"{name} may not be written by you, or its disk may only be read; {other}")
    return None
