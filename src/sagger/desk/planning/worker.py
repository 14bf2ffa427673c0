"""One job in a process of its own: `python -m sagger.desk.planning.worker JOB`.

It leads its own process group, so that a person can end it with all it started. How far it is stands in the
ledger; whoever looks there sees it, whether or not the one who asked is still about.
"""

from __future__ import annotations

import signal
import sys
import threading
import time
from pathlib import Path

from sagger.desk.home import ledger as open_ledger
from sagger.errors import Cancelled, LedgerError, SaggerError
from sagger.goods.record import JobRecord
from sagger.ledger import Ledger, jobs, versions
from sagger.tick import Tick

PAUSE_S = 0.25  # between two looks into the ledger


def main(job: int) -> int:
    """Run a job that waits; the exit code says whether it came to an end of its own."""
    book = open_ledger()
    if not jobs.take(book, job):
        return 0  # somebody else took it, or it was called off
    row = jobs.one(book, job)
    if row.version is None:
        raise LedgerError(f"job {job} names no version of an order")
    order = Path(versions.one(book, row.version).folder) / "order.toml"
    from sagger.desk.planning.plan import plan

    try:
        plan(order, row.folder, job=job, tick=listening(book, job))
    except Cancelled:
        jobs.end(book, job, "cancelled")
    except SaggerError as error:  # a refusal before the job began; later ones are written down already
        if jobs.one(book, job).state == "running":
            jobs.end(book, job, "failed", str(error))
    return 0


def listening(book: Ledger, job: int) -> Tick:
    """A tick that writes how far the job is; "stop" and "enough" come from the ledger, or a polite kill."""
    stopped = threading.Event()
    signal.signal(signal.SIGTERM, lambda number, frame: stopped.set())
    looked, row = time.monotonic(), jobs.one(book, job)

    def newest() -> JobRecord:
        nonlocal looked, row
        now = time.monotonic()
        if now - looked >= PAUSE_S:
            looked, row = now, jobs.one(book, job)
        return row

    reported = 0.0

    def report(doing: str, done: int, total: int) -> None:
        nonlocal reported
        now = time.monotonic()
        if done == 0 or now - reported >= PAUSE_S:
            reported = now
            doing = f"best so far {tick.best}; {doing}" if tick.best else doing
            jobs.tell(book, job, doing=doing[:200], done=done, total=total, improving=tick.improving)

    tick = Tick(report, lambda: newest().stop or stopped.is_set(), lambda: newest().enough)
    return tick


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1])))
