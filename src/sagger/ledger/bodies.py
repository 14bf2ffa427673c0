"""Goods to JSON and arrays and back, each kept under its digest."""

from __future__ import annotations

import dataclasses
import hashlib
import importlib
import json
import os
import re
import struct
import tempfile
import tokenize
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np
import sqlalchemy as sa
from numpy import ndarray

from sagger.errors import LedgerError
from sagger.goods.good import Key, digest
from sagger.ledger import tables, troubles
from sagger.ledger.store import Ledger, put_once

T = TypeVar("T")
# What reading an array comes to whose file was damaged: its head is a line of Python.
BROKEN = (
    *(OSError, ValueError, TypeError, KeyError, EOFError, MemoryError, OverflowError),
    *(SyntaxError, RecursionError, tokenize.TokenError, struct.error),
)
SMALL = 256  # arrays up to this many numbers stand in the JSON itself: a placement is no file
# Kinds of goods that the first edition kept under another name.
NAMED_SINCE = {
    "sagger.goods.cured:Course": "OvenCourse",
    "sagger.goods.cured:Spot": "CuredSpot",
    "sagger.goods.debinding:Course": "DebindingCourse",
    "sagger.goods.learned:Proposal": "FactorProposal",
    "sagger.goods.sintered:Proposal": "ProgrammeProposal",
}


def put(ledger: Ledger, value: T) -> Key[T]:
    """Digest under which `value` is now kept. Keeping it twice changes nothing."""
    name = digest(value)
    text = json.dumps(_plain(ledger, value), separators=(",", ":"))
    with ledger.writing() as connection:
        put_once(connection, tables.body, {"digest": name, "json": text, "said": said(text)})
    return Key(name)


def get(ledger: Ledger, name: Key[T]) -> T:
    """The value kept under `name`.

    Raises
    ------
    LedgerError
        If nothing is kept there, or one of its arrays is gone.
    """
    with ledger.reading() as connection:
        row = connection.execute(sa.select(tables.body).where(tables.body.c.digest == name)).one_or_none()
    if row is None:
        raise LedgerError(f"the ledger in {ledger.folder} holds nothing named {name}")
    if said(row.json) != row.said:
        raise _changed(name)
    value = read(ledger, row.json, name)
    return cast(T, value)  # by its digest it is what was put


def said(text: str) -> str:
    """Digest of a body's JSON: a good of another edition cannot be made again, its text can be looked at."""
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def read(ledger: Ledger, text: str, name: str) -> object:
    """The value that a body's JSON stands for, once it was seen to be what its name says.

    Raises
    ------
    LedgerError
        If text or an array was damaged or changed, or was made by another edition.
    """
    try:
        parsed = json.loads(text)
        value = rich(ledger, parsed)
    except (ValueError, KeyError, TypeError, AttributeError, ImportError, RecursionError):
        raise _changed(name) from None
    if digest(value) != name and _of_today(parsed):
        raise _changed(name)
    return value


def sound(ledger: Ledger, text: str, name: str, mark: str) -> bool:
    """Whether a body is what its name says; False if it is whole, but another edition's.

    Parameters
    ----------
    mark : str
        Digest of the text, as it was written.

    Raises
    ------
    LedgerError
        If it was damaged or changed.
    """
    if said(text) != mark:
        raise _changed(name)
    try:
        return digest(read(ledger, text, name)) == name
    except OtherEdition:
        return False


class OtherEdition(LedgerError):
    """A kind of good has other fields by now."""


def arrays_of(text: str) -> set[str]:
    """Names of the arrays that a body's JSON names."""
    return set(re.findall(r'"array":"([0-9a-f]{32})"', text))


def _changed(name: str) -> LedgerError:
    wrong = f"what the ledger keeps as {name} was damaged, or changed after it was written"
    wrong += "; nothing is made of it"
    return LedgerError(f"{wrong}. Restore a copy made before: sagger ledger restore COPY")


def _of_today(parsed: Any) -> bool:
    """Whether all goods in it have the fields that they have now: else their digest is another, too."""
    if isinstance(parsed, list):
        return all(map(_of_today, parsed))
    if not isinstance(parsed, dict) or "numbers" in parsed or "array" in parsed:
        return True
    if "mapping" in parsed:
        return _of_today(parsed["mapping"])
    module, _, name = parsed["good"].partition(":")
    if parsed["good"] in NAMED_SINCE:
        return False
    kind = getattr(importlib.import_module(module), name)
    fields = {field.name for field in dataclasses.fields(kind)}
    return fields == parsed["fields"].keys() and all(map(_of_today, parsed["fields"].values()))


def _plain(ledger: Ledger, value: object) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {f.name: _plain(ledger, getattr(value, f.name)) for f in dataclasses.fields(value)}
        return {"good": f"{type(value).__module__}:{type(value).__name__}", "fields": fields}
    if isinstance(value, ndarray) and value.size <= SMALL:
        return {"numbers": value.ravel().tolist(), "type": value.dtype.str, "shape": value.shape}
    if isinstance(value, ndarray):
        return {"array": _put_array(ledger, value)}
    if isinstance(value, tuple | list):
        return [_plain(ledger, item) for item in value]
    if isinstance(value, dict):
        return {"mapping": [[_plain(ledger, key), _plain(ledger, item)] for key, item in value.items()]}
    if isinstance(value, np.generic):
        return value.item()
    return value


def rich(ledger: Ledger, value: Any) -> Any:
    """The value that a body's parsed JSON stands for."""
    if isinstance(value, list):
        return tuple(rich(ledger, item) for item in value)
    if not isinstance(value, dict):
        return value
    if "numbers" in value:
        return np.array(value["numbers"], dtype=value["type"]).reshape(value["shape"])
    if "array" in value:
        return _get_array(ledger, value["array"])
    if "mapping" in value:
        return {rich(ledger, key): rich(ledger, item) for key, item in value["mapping"]}
    module, _, name = value["good"].partition(":")
    if not module.startswith("sagger."):
        raise LedgerError(f"the ledger names a kind of value that is not ours: {module}")
    kind = getattr(importlib.import_module(module), NAMED_SINCE.get(value["good"], name))
    fields = {key: rich(ledger, item) for key, item in value["fields"].items()}
    try:
        return kind(**fields)
    except TypeError:  # its fields are others by now
        what = f"what is kept here as {name} was made by another edition of the program"
        raise OtherEdition(f"{what}; plan the job again to see it") from None


def _put_array(ledger: Ledger, array: ndarray) -> str:
    name = digest(array)
    path = ledger.folder / "arrays" / name[:2] / f"{name}.npy"
    try:
        if not path.exists():
            path.parent.mkdir(exist_ok=True)
            _write_array(path, array)
    except OSError as error:
        raise troubles.told(error, ledger.folder, str(ledger.folder)) or error from error
    return name


def _write_array(path: Path, array: ndarray) -> None:
    """Aside first, so that it is there whole or not at all."""
    with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as aside:
        try:
            np.save(aside, np.ascontiguousarray(array), allow_pickle=False)
            aside.flush()
            os.fsync(aside.fileno())
            os.replace(aside.name, path)
        except OSError:
            os.unlink(aside.name)
            raise


def _get_array(ledger: Ledger, name: str) -> ndarray:
    path = ledger.folder / "arrays" / name[:2] / f"{name}.npy"
    array = array_in(path)
    array.flags.writeable = False
    return array


def array_in(path: Path) -> ndarray:
    """The array of a file, once it was seen to be what the file's name says.

    Raises
    ------
    LedgerError
        If it is gone, or was damaged or changed.
    """
    try:
        array: ndarray = np.load(path, allow_pickle=False)
        sound = digest(array) == path.stem
    except BROKEN as error:
        raise _broken(path) from error
    if not sound:
        raise _broken(path)
    return array


def _broken(path: Path) -> LedgerError:
    what = f"an array of the ledger is gone or broken: {path}; nothing is made of it"
    return LedgerError(f"{what}. Restore a copy made before: sagger ledger restore COPY")
