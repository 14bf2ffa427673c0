"""Text from outside, TOML and tables: read whole, or refused in a sentence that says where.

What a library says when it stumbles never reaches a person: its words are about its own insides.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TypeVar

from sagger.errors import InputError
from sagger.goods.plain import Table

R = TypeVar("R", bound=InputError)

MOST_BYTES = 64 << 20  # of one text: a table of a shop's year has a tenth of that
LONGEST = 20_000  # characters of one line of a table
DEEPEST = 50  # tables and lists within one another: no file of ours has more than four
WHOLE = 2**63  # TOML 1.0, "Integer": 64 bit
SHOWN = 60  # characters of a line that is shown
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_PLACE = re.compile(r"\(at line (\d+), column (\d+)\)")
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def content(path: Path, refuse: type[R], kind: str, remedy: str = "") -> bytes:
    """The bytes of a file that is read as text; `kind` names it in a refusal, "the order".

    Raises
    ------
    InputError
        Of the kind `refuse`, if it cannot be read or is larger than a text may be.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            wrong = f"{kind} has more than {MOST_BYTES >> 20} MiB"
            raise refuse(wrong, file=path.name, remedy="Is it the right file?")
        return path.read_bytes()
    except (OSError, ValueError) as error:  # a name with a NUL in it is a ValueError
        why = getattr(error, "strerror", None) or "no file can have this name"
        raise refuse(f"{kind} cannot be read ({why})", file=str(path)[:200], remedy=remedy) from None


def decoded(data: bytes, file: str, refuse: type[R], kind: str) -> str:
    """Bytes as text: UTF-8, or UTF-16 and UTF-32 where the first bytes say so.

    Raises
    ------
    InputError
        Of the kind `refuse`, with the line that is no such text.
    """
    name = next((name for mark, name in _MARKS if data.startswith(mark)), "utf-8")
    try:
        text = data.decode(name)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        wrong = f"{kind} is not UTF-8 text"
        raise refuse(wrong, file=file, field=f"line {line}", remedy="Save it as UTF-8.") from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        wrong = f"{kind} is no text: it holds a byte of value 0"
        raise refuse(wrong, file=file, field=f"line {line}", remedy="Save it as UTF-8.")
    return text


def read(path: Path, refuse: type[R], what: str, remedy: str = "") -> str:
    """A file as text; `InputError` of the kind `refuse` if it is none."""
    return decoded(content(path, refuse, what, remedy), path.name, refuse, what)


def toml(path: Path, refuse: type[R], kind: str, *, remedy: str = "", missing: str = "") -> Table:
    """The table of a TOML file.

    Parameters
    ----------
    refuse : type
        Kind of `InputError` that is raised.
    kind : str
        What the file is, as a refusal names it: "the order".
    remedy, missing : str
        What helps where it is no TOML, and where there is no such file.

    Raises
    ------
    InputError
        If it cannot be read or is no TOML; with the line.
    """
    text = read(path, refuse, kind, missing)
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise refuse(f"{kind} is not TOML", **_where(str(error), text, path.name), remedy=remedy) from None
    except RecursionError:
        line = max(enumerate(text.splitlines(), 1), key=lambda each: each[1].count("["))[0]
        raise _too_deep(refuse, kind, path.name, f"line {line}") from None
    except ValueError:  # Python's own limit to the digits of a number
        found = re.search(r"\d{4000}", text)
        line = text.count("\n", 0, found.start() if found else 0) + 1
        raise _too_large(refuse, kind, path.name, f"line {line}") from None
    _sane(table, (), refuse, kind, path.name)
    return table


def rows(text: str, file: str, refuse: type[R], sign: str = ",") -> Iterator[tuple[int, list[str]]]:
    """Line numbers and cells of a table, the heading among them; every line, blank ones too.

    Raises
    ------
    InputError
        Of the kind `refuse`, at a line that is no row of a table.
    """
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    line = 1
    try:
        for cells in reader:
            if sum(map(len, cells)) > LONGEST:
                break
            yield line, cells
            line = reader.line_num + 1
        else:
            return
    except csv.Error:
        pass
    wrong = f"this is no row of a table: a row has at most {LONGEST:,} characters, and its quotes are closed"
    raise refuse(wrong, file=file, field=f"line {line}", remedy="Mend the line.")


def table(names: Sequence[str], lines: Iterable[Mapping[str, object]]) -> str:
    """A CSV table of what lies in the ledger, safe to be opened in a spreadsheet.

    Text that a spreadsheet would take for a formula gets an apostrophe before it (OWASP, "CSV Injection");
    numbers stay numbers.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    writer.writerows([_defused(line.get(name)) for name in names] for line in lines)
    return out.getvalue()


def _defused(value: object) -> object:
    return f"'{value}" if isinstance(value, str) and value.lstrip(" ").startswith(_FORMULA) else value


def _where(said: str, text: str, file: str) -> dict[str, str]:
    """File, place and the line itself, from what the reader said of the place."""
    place = _PLACE.search(said)
    if not place:
        return {"file": file, "field": "its end"}
    line, column = int(place[1]), int(place[2])
    lines = text.split("\n")
    shown = lines[line - 1].strip()[:SHOWN] if line <= len(lines) else ""
    return {"file": file, "field": f"line {line}, column {column}", "value": shown}


def _sane(value: object, path: tuple[str, ...], refuse: type[R], kind: str, file: str) -> None:
    """Refuses what no file of ours holds and no figure can be."""
    if len(path) > DEEPEST:
        raise _too_deep(refuse, kind, file, ", ".join(path[:3]))
    if isinstance(value, int) and not -WHOLE <= value < WHOLE:
        raise _too_large(refuse, kind, file, ", ".join(path[:3]))
    if isinstance(value, Mapping):
        for key, item in value.items():
            _sane(item, (*path, str(key)[:SHOWN]), refuse, kind, file)
    elif isinstance(value, list):
        for number, item in enumerate(value, 1):
            _sane(item, (*path, str(number)), refuse, kind, file)


def _too_deep(refuse: type[R], what: str, file: str, field: str) -> R:
    wrong = f"{what} has more than {DEEPEST} tables or lists within one another"
    return refuse(wrong, file=file, field=field, remedy="Write it flat, as the manual shows.")


def _too_large(refuse: type[R], what: str, file: str, field: str) -> R:
    return refuse(f"{what} holds a number of too many digits", file=file, field=field, remedy="Mend it.")
