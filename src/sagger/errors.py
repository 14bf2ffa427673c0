"""Everything that can go wrong, drawn as a tree.

SaggerError                 what a person is told; says what, where, the value, the limit, what to do
├── InputError              something given to us is refused: file, field, value, remedy
│   ├── OrderError          the order file
│   ├── CardError           a card
│   ├── LotError            a powder lot's file, or a table of measurements
│   └── PartFileError       a part file (broken, hostile, empty, of unknown kind or unit)
├── LawError                a law was asked outside its range
├── LedgerError             the ledger cannot be opened, read or written
└── StopError               the process cannot do what was asked: the clear "no"

Cancelled (BaseException)   a person said stop; never swallowed by a library's broad handler
"""

from __future__ import annotations


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


class StopError(SaggerError):
    """The process cannot do what was asked."""


class Cancelled(BaseException):
    """A person said stop."""
