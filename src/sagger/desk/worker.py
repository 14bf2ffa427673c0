"""One job in a process of its own: `python -m sagger.desk.worker JOB`.

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
from sagger.errors import Cancelled, SaggerError
from sagger.ledger import Ledger, jobs, versions
from sagger.tick import Tick

PAUSE_S = 0.25  # between two looks into the ledger


def main(job: int) -> int:
    """Run a job that waits; the exit code says whether it came to an end of its own."""
    book = open_ledger()
    if not jobs.take(book, job):
        return 0  # somebody else took it, or it was called off
    row = jobs.one(book, job)
    order = Path(versions.one(book, row["version"])["folder"]) / "order.toml"
    from sagger.desk.orders import Wish
    from sagger.desk.plan import plan

    try:
        plan(order, Path(row["folder"]), Wish(), job=job, tick=listening(book, job))
    except Cancelled:
        jobs.end(book, job, "cancelled")
    except SaggerError as error:  # a refusal before the job began; later ones are written down already
        if jobs.one(book, job)["state"] == "running":
            jobs.end(book, job, "failed", str(error))
    return 0


def listening(book: Ledger, job: int) -> Tick:
    """A tick that writes how far the job is; "stop" and "enough" come from the ledger, or a polite kill."""
    heard = threading.Event()
    signal.signal(signal.SIGTERM, lambda number, frame: heard.set())
    looked = 0.0
    row = {"stop": False, "enough": False}

    def said(word: str) -> bool:
        nonlocal looked, row
        now = time.monotonic()
        if now - looked >= PAUSE_S:
            looked, row = now, jobs.one(book, job)
        return bool(row[word])

    told = 0.0

    def report(doing: str, done: int, total: int) -> None:
        nonlocal told
        now = time.monotonic()
        if done == 0 or now - told >= PAUSE_S:
            told = now
            doing = f"best so far {tick.best}; {doing}" if tick.best else doing
            jobs.tell(book, job, doing=doing[:200], done=done, total=total, improving=tick.improving)

    tick = Tick(report, lambda: said("stop") or heard.is_set(), lambda: said("enough"))
    return tick


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1])))
