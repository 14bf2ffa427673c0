"""Every byte of a ledger looked at: pages, the chain of entries, seals, bodies and arrays."""

from __future__ import annotations

import functools
import tempfile
from collections.abc import Iterator
from pathlib import Path

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.goods.good import good
from sagger.ledger import bodies, entries, sayings, store, tables, troubles
from sagger.ledger.store import Ledger
from sagger.tick import Tick, silent


@good
class Proven:
    """What was looked at and found whole."""

    entries: int
    seal: str  # of the last entry; written down elsewhere it proves that no end was cut off
    accounts: int
    jobs: int
    bodies: int
    older: int  # of other editions: their goods had other fields, and their digest cannot be made again
    arrays: int
    bytes: int  # of arrays
    idle: int  # arrays that nothing names; `tidy` takes them out


def prove(ledger: Ledger, tick: Tick = silent) -> Proven:
    """Look at all of a ledger.

    Raises
    ------
    LedgerError
        At the first thing that is damaged, gone or was edited: what, where, since when.
    """
    _pages(ledger)
    sealed = entries.check(ledger)
    with ledger.reading() as connection:
        sayings.check(connection)
        rows = connection.execute(sa.select(tables.body)).all()
        accounts, jobs = (
            connection.execute(sa.select(sa.func.count()).select_from(table)).scalar() or 0
            for table in (tables.person, tables.job)
        )
    older = 0
    for row in tick.over(rows, "looking at what is kept"):
        older += not bodies.sound(ledger, row.json, row.digest, row.said)
    size, names = 0, set[str]()
    for path in _arrays(ledger.folder):
        size, names = size + _array(path), names | {path.stem}
    wanted = {name for row in rows for name in bodies.arrays_of(row.json)}
    return Proven(
        entries=sealed.entries,
        seal=sealed.seal,
        accounts=accounts,
        jobs=jobs,
        bodies=len(rows),
        older=older,
        arrays=len(names),
        bytes=size,
        idle=len(names - wanted),
    )


def _pages(ledger: Ledger) -> None:
    """What the database itself says of its pages; that its tables are those that were made, and no more."""
    if ledger.engine.dialect.name != "sqlite":
        return  # a server checks its own pages, with --data-checksums
    with ledger.reading() as connection:
        found = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar()
    wrong = "" if found == "ok" else f"{ledger.name} is damaged: a page of it is not what was written"
    others = _tables(ledger).items() ^ _as_made().items() if not wrong else ()
    for name, _ in sorted(others)[:1]:
        wrong = f"{ledger.name} was changed: {name!r} in it is not what the program made"
    if wrong:
        raise LedgerError(f"{wrong}; nothing is read or planned from it. {troubles.RESTORE}")


def _tables(ledger: Ledger) -> dict[str, str]:
    """How tables, indices and whatever else stands beside them were made, by name."""
    with ledger.reading() as connection:
        rows = connection.exec_driver_sql("SELECT name, type || ': ' || coalesce(sql, '') FROM sqlite_master")
        return {str(name): str(made) for name, made in rows}


@functools.cache
def _as_made() -> dict[str, str]:
    """The same of a ledger that is made now."""
    with tempfile.TemporaryDirectory(prefix="sagger-") as folder:
        made = store.open_at(Path(folder))
        try:
            return _tables(made)
        finally:
            made.engine.dispose()


def _arrays(folder: Path) -> Iterator[Path]:
    return (path for path in sorted((folder / "arrays").rglob("*.npy")))


def _array(path: Path) -> int:
    """Bytes of an array that is what its name says."""
    bodies.array_in(path)
    return path.stat().st_size
