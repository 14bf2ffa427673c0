"""Every byte of a ledger looked at: pages, the chain of entries, seals, bodies and arrays."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.goods.good import good
from sagger.ledger import bodies, entries, tables, troubles
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
        texts = {row.digest: row.json for row in connection.execute(sa.select(tables.body))}
        accounts, jobs = (
            connection.execute(sa.select(sa.func.count()).select_from(table)).scalar() or 0
            for table in (tables.person, tables.job)
        )
    older = 0
    for name, text in tick.over(list(texts.items()), "looking at what is kept"):
        older += not bodies.sound(ledger, text, name)
    size, names = 0, set[str]()
    for path in _arrays(ledger.folder):
        size, names = size + _array(path), names | {path.stem}
    wanted = {name for text in texts.values() for name in bodies.arrays_of(text)}
    return Proven(
        entries=sealed.entries,
        seal=sealed.seal,
        accounts=accounts,
        jobs=jobs,
        bodies=len(texts),
        older=older,
        arrays=len(names),
        bytes=size,
        idle=len(names - wanted),
    )


def _pages(ledger: Ledger) -> None:
    """What the database itself says of its pages."""
    if ledger.engine.dialect.name != "sqlite":
        return  # a server checks its own pages, with --data-checksums
    with ledger.reading() as connection:
        found = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar()
    if found != "ok":
        what = f"{ledger.name} is damaged: a page of it is not what was written"
        raise LedgerError(f"{what}; nothing is read or planned from it. {troubles.RESTORE}")


def _arrays(folder: Path) -> Iterator[Path]:
    return (path for path in sorted((folder / "arrays").rglob("*.npy")))


def _array(path: Path) -> int:
    """Bytes of an array that is what its name says."""
    bodies.array_in(path)
    return path.stat().st_size
