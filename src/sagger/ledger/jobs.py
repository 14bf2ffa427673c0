"""Jobs and their state.

waiting, running, done, stopped (the process cannot), cancelled, failed, interrupted.
"""

from __future__ import annotations

import dataclasses
import os
from datetime import UTC, datetime
from pathlib import Path
from socket import gethostname
from typing import NamedTuple

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.goods.record import JobRecord
from sagger.ledger import seals, tables
from sagger.ledger.store import Ledger

OPEN = ("waiting", "running")


def ask(ledger: Ledger, name: str, folder: str, version: int, person: str) -> int:
    """Number of a new job that waits for a process."""
    row = {
        "name": name,
        "order_digest": "",
        "folder": folder,
        "state": "waiting",
        "host": _host(),
        "process": 0,
        "process_began": "",
        "began": _now(),
        "edition": "",
        "start": "",
        "version": version,
        "person": person,
    }
    with ledger.writing() as connection:
        return int(connection.execute(sa.insert(tables.job).values(row)).inserted_primary_key[0])  # type: ignore[index]


def send(ledger: Ledger, job: int, process: int) -> None:
    """Write down which process was sent for a job that waits."""
    waits = (tables.job.c.id == job) & (tables.job.c.state == "waiting")
    row = {"process": process, "process_began": _began(process)}
    with ledger.writing() as connection:
        connection.execute(sa.update(tables.job).where(waits).values(row))


def take(ledger: Ledger, job: int) -> bool:
    """Whether this process may run a job that waits; it then counts as running."""
    row = {"state": "running", "process": os.getpid(), "process_began": _began(os.getpid()), "began": _now()}
    waits = (tables.job.c.id == job) & (tables.job.c.state == "waiting")
    with ledger.writing() as connection:
        return connection.execute(sa.update(tables.job).where(waits).values(row)).rowcount == 1


class Beginning(NamedTuple):
    """What a job that begins is about."""

    name: str
    order_digest: str
    folder: str
    edition: str
    start: str  # when the first box can start


def begin(ledger: Ledger, what: Beginning, *, job: int | None = None) -> int:
    """Number of a job that this process runs: `job`, if it was asked for before, or a new one."""
    row = what._asdict() | {
        "state": "running",
        "host": _host(),
        "process": os.getpid(),
        "process_began": _began(os.getpid()),
        "began": _now(),
    }
    with ledger.writing() as connection:
        if job is not None:
            connection.execute(sa.update(tables.job).where(tables.job.c.id == job).values(row))
            return job
        return int(connection.execute(sa.insert(tables.job).values(row)).inserted_primary_key[0])  # type: ignore[index]


def tell(ledger: Ledger, job: int, **columns: str | int) -> None:
    """Write down how far a job is: `step`, `doing`, `done`, `total`, `improving`."""
    with ledger.writing() as connection:
        connection.execute(sa.update(tables.job).where(tables.job.c.id == job).values(columns))


def stop(ledger: Ledger, job: int) -> None:
    """Ask a job to stop; one that still waits is cancelled at once."""
    open_one = (tables.job.c.id == job) & tables.job.c.state.in_(OPEN)
    with ledger.writing() as connection:
        connection.execute(sa.update(tables.job).where(open_one).values(stop=True))
        waits = open_one & (tables.job.c.state == "waiting")
        ended = {"state": "cancelled", "ended": _now()}
        if connection.execute(sa.update(tables.job).where(waits).values(ended)).rowcount:
            seals.add(connection, seals.JOB, job, seals.of_job(connection, job))


def enough(ledger: Ledger, job: int) -> bool:
    """Tell a job that what it found so far will do; False if it is not looking for anything better."""
    at_it = (tables.job.c.id == job) & (tables.job.c.state == "running") & tables.job.c.improving
    with ledger.writing() as connection:
        return connection.execute(sa.update(tables.job).where(at_it).values(enough=True)).rowcount == 1


def settle(ledger: Ledger) -> list[int]:
    """Numbers of jobs whose process vanished, at work or on its way to it; they are closed by this call."""
    sent = (row for row in _rows(ledger) if row.state in OPEN and row.process_began)
    gone = [row for row in sent if not alive(row)]
    closed = []
    for row in gone:
        same = (tables.job.c.id == row.id) & (tables.job.c.state == row.state)
        state = "cancelled" if row.stop else "interrupted"
        said = {"state": state, "ended": _now(), "message": "" if row.stop else "its process is gone"}
        with ledger.writing() as connection:
            if connection.execute(sa.update(tables.job).where(same).values(said)).rowcount:
                closed.append(int(row.id))
                seals.add(connection, seals.JOB, row.id, seals.of_job(connection, row.id))
    return closed


def end(ledger: Ledger, job: int, state: str, message: str = "", plan_digest: str | None = None) -> None:
    """Close a job."""
    row = {
        "state": state,
        "message": message,
        "plan_digest": plan_digest,
        "ended": _now(),
    }
    with ledger.writing() as connection:
        connection.execute(sa.update(tables.job).where(tables.job.c.id == job).values(row))
        seals.add(connection, seals.JOB, job, seals.of_job(connection, job))


def listed(ledger: Ledger) -> list[JobRecord]:
    """All jobs, newest first. A running job whose process is gone is called interrupted."""
    return [_seen(row) for row in _rows(ledger)]


def counts(ledger: Ledger) -> tuple[int, int, str]:
    """How many jobs there are, the newest number, when one ended last: other once one ends or begins."""
    table = tables.job.c
    query = sa.select(sa.func.count(), sa.func.max(table.id), sa.func.max(table.ended))
    with ledger.reading() as connection:
        many, newest, ended = connection.execute(query).one()
    return many, newest or 0, ended or ""


def opened(ledger: Ledger) -> list[JobRecord]:
    """Jobs that wait or run, newest first."""
    table = tables.job.c
    query = sa.select(tables.job).where(table.state.in_(OPEN)).order_by(table.id.desc())
    with ledger.reading() as connection:
        return [_seen(JobRecord(**row)) for row in connection.execute(query).mappings()]


def one(ledger: Ledger, job: int) -> JobRecord:
    """One job; `LedgerError` if there is none of that number."""
    with ledger.reading() as connection:
        row = connection.execute(sa.select(tables.job).where(tables.job.c.id == job)).mappings().first()
    if row is None:
        raise LedgerError(f"there is no job {job}; `sagger jobs` lists them")
    return _seen(JobRecord(**row))


def unfinished(ledger: Ledger, order_digest: str, folder: str) -> JobRecord | None:
    """The newest job of this order into this folder that was interrupted, cancelled or failed, if any."""
    for row in listed(ledger):
        if row.order_digest == order_digest and row.folder == folder:
            return row if row.state in ("interrupted", "cancelled", "failed") else None
    return None


def planned(ledger: Ledger, order_digest: str, start: str = "") -> int | None:
    """Number of the newest job that planned this order, to begin at `start` if that is said; or None."""
    rows = (row for row in listed(ledger) if row.order_digest == order_digest and row.plan_digest)
    return next((int(row.id) for row in rows if not start or row.start == start), None)


def running(ledger: Ledger, folder: str, besides: int | None = None) -> int | None:
    """Number of a job, other than `besides`, that is writing into this folder now, or None."""
    rows = (row for row in listed(ledger) if row.folder == folder and row.state == "running")
    return next((int(row.id) for row in rows if row.id != besides), None)


def here(row: JobRecord) -> bool:
    """Whether a job runs, or waits, on this machine."""
    return row.host in ("", _host())


def alive(row: JobRecord) -> bool:
    """Whether the process that a job names still runs and is the same; nothing is known of other machines."""
    return not here(row) or (bool(row.process_began) and _began(row.process) == row.process_began)


def _rows(ledger: Ledger) -> list[JobRecord]:
    with ledger.reading() as connection:
        query = sa.select(tables.job).order_by(tables.job.c.id.desc())
        return [JobRecord(**row) for row in connection.execute(query).mappings()]


def _seen(row: JobRecord) -> JobRecord:
    if row.state == "running" and not alive(row):
        return dataclasses.replace(row, state="interrupted")
    return row


def _began(process: int) -> str:
    # The kernel's start tick tells a process from a later one that was given the same number.
    try:
        fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return ""
    return "" if fields[0] == "Z" else fields[19]  # ended, and nobody asked yet how


def _host() -> str:
    return gethostname()[:80]


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
