"""What of a ledger may go: results of jobs that nobody needs any more, and what broke off on its way.

The book stays whole: entries and seals are never taken out. What a job came to is kept if it is young,
approved, printed, booked in the cell, the newest of its order, or any entry of the book speaks of it.
"""

from __future__ import annotations

import json
import re
import shutil
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.goods.good import good
from sagger.ledger import bodies as texts
from sagger.ledger import entries, jobs, seals, tables
from sagger.ledger.store import Ledger

DIGEST = re.compile(r"[0-9a-f]{32}")
BROKEN_OFF_S = 86400.0  # a file on its way for a day is on no way


@good
class Tidied:
    """What was, or would be, taken out."""

    jobs: tuple[int, ...]
    bodies: int
    arrays: int
    bytes: int  # that are freed
    kept: int  # jobs


def tidy(ledger: Ledger, days: float, *, do: bool) -> Tidied:
    """Take out what may go; `do` = False says only what it would be.

    Parameters
    ----------
    days : float
        Results of jobs that ended less than so long ago are staying.

    Raises
    ------
    LedgerError
        If the ledger is damaged or was edited, or a job is under way, whose results nothing names yet: then
        nothing is taken out.
    """
    entries.check(ledger)
    with ledger.writing() as connection:
        if do:
            _refuse_under_way(connection)
        old = _old(connection, days)
        used = _outputs(connection, old)
        bodies, names = _live(connection, used)
        freed = sum(len(text.encode()) for digest, text in bodies.items() if digest not in names)
        arrays = {name for digest in names for name in texts.arrays_of(bodies.get(digest, ""))}
        gone = [path for path in _stored(ledger.folder) if path.stem not in arrays]
        if do:
            _take_out(connection, old, bodies.keys() - names)
        size = freed + sum(path.stat().st_size for path in gone)
        staying = len(connection.execute(sa.select(tables.job.c.id)).all()) - len(old)
    if do:
        for path in gone:
            path.unlink(missing_ok=True)
        _vacuum(ledger)
    told = (len(bodies.keys() - names), len(gone), size)
    return Tidied(jobs=tuple(sorted(old)), bodies=told[0], arrays=told[1], bytes=told[2], kept=staying)


def _refuse_under_way(connection: sa.Connection) -> None:
    table = tables.job.c
    query = sa.select(table.id).where(table.state.in_(jobs.OPEN)).order_by(table.id)
    if (number := connection.execute(query).scalar()) is not None:
        what = f"job {number} is under way, and nothing was taken out"
        raise LedgerError(f"{what}. Tidy when it has ended, or without --do to look only")


def _old(connection: sa.Connection, days: float) -> set[int]:
    """Numbers of jobs whose results may go."""
    young = (datetime.now(UTC) - timedelta(days=days)).isoformat(timespec="seconds")
    table, seal, version = tables.job.c, tables.seal.c, tables.version.c
    tidied = set(connection.execute(sa.select(seal.row).where(seal.subject == seals.TIDIED)).scalars())
    threads = {row.id: row.thread for row in connection.execute(sa.select(version.id, version.thread))}
    query = sa.select(table.id, table.state, table.ended, table.version, table.folder).order_by(table.id)
    newest, over = dict[object, int](), set[int]()
    for row in connection.execute(query):
        newest[row.folder if row.version is None else threads.get(row.version)] = row.id
        if row.state not in jobs.OPEN and row.ended and row.ended < young:
            over.add(row.id)
    return over - set(newest.values()) - _spoken_of(connection) - tidied


def _spoken_of(connection: sa.Connection) -> set[int]:
    """Jobs that the book names: printed, approved, booked in the cell."""
    numbers = set(connection.execute(sa.select(tables.build.c.job)).scalars())
    numbers |= set(connection.execute(sa.select(tables.approval.c.job)).scalars())
    names = connection.execute(sa.select(tables.cell.c.name)).scalars().all()
    bases = connection.execute(sa.select(tables.conditions.c.basis)).scalars().all()
    notes = connection.execute(sa.select(tables.entry.c.note)).scalars().all()
    words = re.findall(r"\bjob (\d{1,9})\b", " ".join((*names, *bases, *notes)))
    query = sa.select(tables.body.c.json).join(tables.cell, tables.cell.c.body == tables.body.c.digest)
    for text in connection.execute(query).scalars():
        words += re.findall(r'"job":(\d{1,9})\b', text)
    return {int(number) for number in (*numbers, *words) if number is not None}


def _outputs(connection: sa.Connection, old: set[int]) -> set[str]:
    """Digests that works of the jobs that stay gave or took, and their plans."""
    use, work, digests = tables.use.c, tables.work.c, set[str]()
    used = {row.key for row in connection.execute(sa.select(use.key, use.job)) if row.job not in old}
    for row in connection.execute(sa.select(work.key, work.inputs, work.output)):
        if row.key in used:
            digests |= {row.output, *json.loads(row.inputs)}
    return digests | {
        row.plan_digest
        for row in connection.execute(sa.select(tables.job.c.id, tables.job.c.plan_digest))
        if row.id not in old and row.plan_digest
    }


def _live(connection: sa.Connection, used: set[str]) -> tuple[dict[str, str], set[str]]:
    """Every body by digest, and the digests of those that something needs."""
    bodies = {row.digest: row.json for row in connection.execute(sa.select(tables.body))}
    named = set(used)
    for table in entries.OF_ENTRY:
        for row in connection.execute(sa.select(table)):
            named |= {word for value in row if isinstance(value, str) for word in DIGEST.findall(value)}
    for note in connection.execute(sa.select(tables.entry.c.note)).scalars():
        named |= set(DIGEST.findall(note))
    return bodies, named & bodies.keys()


def _stored(folder: Path) -> Iterator[Path]:
    """Arrays, and files that broke off on their way to become one."""
    for path in (folder / "arrays").rglob("*"):
        broken = path.suffix == ".part" and time.time() - path.stat().st_mtime > BROKEN_OFF_S
        if path.is_file() and (broken or (path.suffix == ".npy" and DIGEST.fullmatch(path.stem))):
            yield path


def _take_out(connection: sa.Connection, old: set[int], bodies: set[str]) -> None:
    for job in sorted(old):
        row = connection.execute(sa.select(tables.job.c.plan_digest).where(tables.job.c.id == job)).scalar()
        seals.add(connection, seals.TIDIED, job, {"plan": row or ""})
        connection.execute(sa.delete(tables.use).where(tables.use.c.job == job))
        connection.execute(sa.update(tables.job).where(tables.job.c.id == job).values(plan_digest=None))
    kept = sa.select(tables.use.c.key)
    connection.execute(sa.delete(tables.work).where(tables.work.c.key.not_in(kept)))
    for digest in bodies:
        connection.execute(sa.delete(tables.body).where(tables.body.c.digest == digest))


def _vacuum(ledger: Ledger) -> None:
    """Give freed pages back to the disk."""
    if ledger.engine.dialect.name == "sqlite" and shutil.disk_usage(ledger.folder).free > 2 * ledger.size():
        with ledger.engine.connect() as connection:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("VACUUM")
