"""One plan of the cell in a process of its own: `python -m sagger.desk.planning.cell_worker`.

It inherits the lock of `cell_runs`, and writes there how far it is.
"""

from __future__ import annotations

import signal
import sys
import threading
import time
from dataclasses import replace

from sagger.desk.planning import cell, cell_runs
from sagger.errors import Cancelled, SaggerError
from sagger.goods.cell_run import CellRun
from sagger.ledger.lots import Mover
from sagger.tick import Tick

PAUSE_S = 0.25  # between two words of how far it is


def main() -> int:
    """Make the plan that was asked for last, and have it accepted."""
    run = cell_runs.newest()
    if run is None:
        return 2
    cell_runs.write(replace(run, doing="reading the book"))
    try:
        ended = _planned(run)
    except Cancelled:
        ended = replace(run, state="cancelled")
    except SaggerError as error:
        ended = replace(run, state="failed", message=str(error))
    cell_runs.write(ended)
    return 0


def _planned(run: CellRun) -> CellRun:
    before = cell.book()
    effort = cell.BETTER if run.asked.better else cell.FIRST
    step = Mover(person=run.asked.person, note=run.asked.note)
    entry, made = cell.plan(run.asked.at, effort, step, tick=_listening(run))
    return replace(run, state="done", entry=entry, message="; ".join(cell.fixed_moved(before, made)))


def _listening(run: CellRun) -> Tick:
    """A tick that writes how far it is; "stop" and "enough" are files, or a polite kill."""
    stopped = threading.Event()
    signal.signal(signal.SIGTERM, lambda number, frame: stopped.set())
    reported = 0.0

    def report(doing: str, done: int, total: int) -> None:
        nonlocal reported
        if time.monotonic() - reported >= PAUSE_S:
            reported = time.monotonic()
            cell_runs.write(replace(run, doing=doing[:200], done=done, total=total, improving=tick.improving))

    def stop() -> bool:
        return stopped.is_set() or cell_runs.asked_to("stop")

    tick = Tick(report, stop, lambda: cell_runs.asked_to("enough"))
    return tick


if __name__ == "__main__":
    sys.exit(main())
