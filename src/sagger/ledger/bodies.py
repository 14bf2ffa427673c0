"""Goods to JSON and arrays and back, each kept under its digest."""

from __future__ import annotations

import dataclasses
import importlib
import json
import os
import tempfile
from typing import Any

import numpy as np
import sqlalchemy as sa
from numpy import ndarray

from sagger.errors import LedgerError
from sagger.goods.good import digest
from sagger.ledger import tables
from sagger.ledger.store import Ledger, put_once

SMALL = 256  # arrays up to this many numbers stand in the JSON itself: a placement is no file


def put(ledger: Ledger, value: object) -> str:
    """Digest under which `value` is now kept. Keeping it twice changes nothing."""
    name = digest(value)
    text = json.dumps(_plain(ledger, value), separators=(",", ":"))
    with ledger.writing() as connection:
        put_once(connection, tables.body, {"digest": name, "json": text})
    return name


def get(ledger: Ledger, name: str) -> Any:
    """The value kept under `name`.

    Raises
    ------
    LedgerError
        If nothing is kept there, or one of its arrays is gone.
    """
    with ledger.reading() as connection:
        text = connection.execute(
            sa.select(tables.body.c.json).where(tables.body.c.digest == name)
        ).scalar_one_or_none()
    if text is None:
        raise LedgerError(f"the ledger in {ledger.folder} holds nothing named {name}")
    return rich(ledger, json.loads(text))


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
    kind = getattr(importlib.import_module(module), name)
    fields = {key: rich(ledger, item) for key, item in value["fields"].items()}
    try:
        return kind(**fields)
    except TypeError:  # its fields are others by now
        what = f"what is kept here as {name} was made by another edition of the program"
        raise LedgerError(f"{what}; plan the job again to see it") from None


def _put_array(ledger: Ledger, array: ndarray) -> str:
    name = digest(array)
    path = ledger.folder / "arrays" / name[:2] / f"{name}.npy"
    if not path.exists():
        path.parent.mkdir(exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as aside:
            np.save(aside, np.ascontiguousarray(array), allow_pickle=False)
            aside.flush()
            os.fsync(aside.fileno())
        os.replace(aside.name, path)
    return name


def _get_array(ledger: Ledger, name: str) -> ndarray:
    path = ledger.folder / "arrays" / name[:2] / f"{name}.npy"
    try:
        array: ndarray = np.load(path, allow_pickle=False)
    except (OSError, ValueError) as error:
        raise LedgerError(f"an array of the ledger is gone or broken: {path}") from error
    array.flags.writeable = False
    return array
