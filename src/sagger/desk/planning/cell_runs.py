"""Planning the cell in the background: asked for, looked at, stopped, or told that the best so far will do.

One at a time in a shop's folder: the process at work holds a lock, which goes with it however it ends. Who
plans elsewhere meanwhile is not hindered; the ledger accepts the first plan and has the second made anew.
"""

from __future__ import annotations

import fcntl
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from sagger.desk.home import home, write_whole
from sagger.desk.planning.cell_held import moment, now
from sagger.errors import InputError
from sagger.goods.cell_run import AskedCellRun, CellRun
from sagger.goods.good import plain
from sagger.goods.plain import restored

WORKER = "sagger.desk.planning.cell_worker"
POLITE_S, FIRM_S = 4.0, 2.0  # waited after the flag, and after the polite kill
LOOKED_S, ENDED_S = (
    0.1,
    5.0,
)  # waited for the lock: while somebody looks whether it is held, or its process ends
PAUSE_S = 0.02


def begin(asked: AskedCellRun) -> CellRun:
    """The cell is planned in a process of its own from now on.

    Raises
    ------
    InputError
        If somebody's plan is being made already, there is nobody's name, or the time is none.
    """
    if not asked.person.strip():
        raise InputError("an entry in the ledger needs a person", field="person")
    if asked.at:
        moment(asked.at)
    folder().mkdir(parents=True, exist_ok=True)
    run = newest()
    with _lock(LOOKED_S if run and run.state == "running" else ENDED_S) as held:
        if held is None:
            run = newest()
            who = f"{run.asked.person} since {run.began.replace('T', ' ')}" if run else "somebody"
            what = f"the cell is being planned by {who}"
            raise InputError(what, remedy="Wait for that plan, or stop it.")
        for name in ("stop", "enough"):
            (folder() / name).unlink(missing_ok=True)
        run = CellRun(asked=asked, began=now())
        write(run)
        _sent(held)
    return run


def newest() -> CellRun | None:
    """How far the plan is that was asked for last, or what it came to; None if there was none."""
    try:
        run = restored(CellRun, json.loads((folder() / "run.json").read_text("utf-8")))
    except (OSError, ValueError):
        return None
    if run.state == "running" and _idle():
        return replace(run, state="interrupted", message="its process was ended; nothing was accepted")
    return run


def stop() -> None:
    """No plan is wanted: by a flag; after some seconds without an answer by a kill. Nothing is half done."""
    _say("stop")
    for number, patience in ((0, POLITE_S), (signal.SIGTERM, FIRM_S), (signal.SIGKILL, FIRM_S)):
        if number:
            _kill(number)
        until = time.monotonic() + patience
        while time.monotonic() < until and not _idle():
            time.sleep(0.1)
    run = newest()
    if run is not None and run.state == "interrupted":
        write(replace(run, state="cancelled", message=""))


def enough() -> None:
    """The best plan found so far will do.

    Raises
    ------
    InputError
        If nothing better is being looked for.
    """
    run = newest()
    if run is None or run.state != "running" or not run.improving:
        raise InputError("no better plan is being looked for now")
    _say("enough")


def asked_to(word: str) -> bool:
    """Whether somebody said "stop" or "enough" to the plan under way."""
    return (folder() / word).exists()


def write(run: CellRun) -> None:
    """Keep how far it is."""
    write_whole(folder() / "run.json", json.dumps(plain(run)).encode())


def folder() -> Path:
    """Where a shop keeps how far its plan is."""
    return home() / "cell"


def _say(word: str) -> None:
    if not _idle():
        write_whole(folder() / word, b"")


def _sent(lock: int) -> None:
    """The process at work; it holds the lock from now on."""
    with (folder() / "log.txt").open("ab") as out:
        worker = subprocess.Popen(
            [sys.executable, "-m", WORKER],
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=out,
            start_new_session=True,
            pass_fds=(lock,),
            env=os.environ | {"SAGGER_HOME": str(home())},
        )
    (folder() / "process").write_text(str(worker.pid))
    threading.Thread(target=worker.wait, daemon=True).start()  # so that the system forgets it once it ended


def _kill(number: int) -> None:
    """While the lock is held, the number still belongs to the process that was sent."""
    try:
        process = int((folder() / "process").read_text())
        if not _idle() and os.getpgid(process) == process:
            os.killpg(process, number)
    except (OSError, ValueError):
        return


def _idle() -> bool:
    """Whether no process is at work."""
    if not folder().is_dir():
        return True
    with _lock() as held:
        return held is not None


@contextmanager
def _lock(patience_s: float = LOOKED_S) -> Iterator[int | None]:
    """The lock of the process at work, ours for a while; None if that process has it."""
    held = os.open(folder() / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        until = time.monotonic() + patience_s
        while not (ours := _taken(held)) and time.monotonic() < until:
            time.sleep(PAUSE_S)
        yield held if ours else None
    finally:
        os.close(held)  # a copy that a process inherited goes on holding it


def _taken(held: int) -> bool:
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
