"""Long work in the background: asking for it, looking at it, stopping it.

A job waits until fewer than `AT_ONCE` are at work. Whoever keeps the desk open calls `tend` now and then; a
job goes on without it, and one whose process vanished is called interrupted by the next call.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

from sagger.desk.home import home, ledger
from sagger.errors import InputError
from sagger.goods.record import JobRecord
from sagger.ledger import Ledger, jobs, versions

AT_ONCE = 1  # a line keeps all cores busy by itself
POLITE_S, FIRM_S = 2.0, 3.0  # waited after the flag, and after the polite kill
RESULTS = "out"


def ask(version: int, person: str) -> int:
    """Number of a new job that plans this version of an order; it begins as soon as there is room."""
    book = ledger()
    row = versions.one(book, version)
    into = Path(row.folder) / RESULTS
    busy = next((each for each in jobs.listed(book) if _open_in(each, str(into))), None)
    if busy is not None:
        what = f"job {busy.id} is planning this version already"
        raise InputError(what, remedy="Wait for it, or stop it.")
    number = jobs.ask(book, row.name, str(into), version, person)
    tend()
    return number


def again(job: int, person: str) -> int:
    """Number of a new job that plans the version of the order which `job` planned."""
    version = jobs.one(ledger(), job).version
    if version is None:
        raise InputError("this job plans an order file that lies elsewhere", field="job", value=job)
    return ask(version, person)


def tend() -> None:
    """Close jobs whose process vanished, and begin those for which there is room."""
    book = ledger()
    jobs.settle(book)
    rows = [row for row in jobs.listed(book) if jobs.here(row)]
    room = AT_ONCE - sum(row.state == "running" or _starting(row) for row in rows)
    waiting = [row for row in reversed(rows) if row.state == "waiting" and not _starting(row)]
    for row in waiting[: max(room, 0)]:
        _begin(book, int(row.id), Path(row.folder))


def stop(job: int) -> None:
    """Stop a job: by its flag; after 2 s without an answer by a polite kill; then by force."""
    book = ledger()
    jobs.stop(book, job)
    for number, patience in ((0, POLITE_S), (signal.SIGTERM, FIRM_S), (signal.SIGKILL, FIRM_S)):
        row = jobs.one(book, job)
        if row.state != "running":
            break
        if number:
            _signal(row, number)
        _wait(book, job, patience)
    jobs.settle(book)


def enough(job: int) -> None:
    """Have a job go on with the best that it found so far.

    Raises
    ------
    InputError
        If it is not looking for anything better.
    """
    if not jobs.enough(ledger(), job):
        raise InputError("this job is not looking for anything better now", field="job", value=job)


def _open_in(row: JobRecord, folder: str) -> bool:
    return row.folder == folder and row.state in jobs.OPEN


def _starting(row: JobRecord) -> bool:
    """Whether a process was sent for a job that waits, and lives."""
    return row.state == "waiting" and jobs.alive(row)


def _begin(book: Ledger, job: int, into: Path) -> None:
    into.mkdir(parents=True, exist_ok=True)
    log = into.parent / "log.txt"
    with log.open("ab") as out:
        worker = subprocess.Popen(
            [sys.executable, "-m", "sagger.desk.planning.worker", str(job)],
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=out,
            start_new_session=True,
            env=os.environ | {"SAGGER_HOME": str(home())},
        )
    jobs.send(book, job, worker.pid)
    threading.Thread(target=worker.wait, daemon=True).start()  # so that the system forgets it once it ended


def _signal(row: JobRecord, number: int) -> None:
    # Only while the number still belongs to the process that was sent for this job.
    if jobs.alive(row) and os.getpgid(row.process) == row.process:
        os.killpg(row.process, number)


def _wait(book: Ledger, job: int, seconds: float) -> None:
    until = time.monotonic() + seconds
    while time.monotonic() < until and jobs.one(book, job).state == "running":
        time.sleep(0.1)
