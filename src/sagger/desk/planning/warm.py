"""Compiling what computes, once and on every core, so that the first job does not wait for it.

`kernels.txt` says what is called and with which arguments. A kernel is compiled after those that it calls, so
that no two processes compile the same.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import NamedTuple

from sagger.tick import Tick, silent

LISTED = Path(__file__).with_name("kernels.txt")
REST = "[other jobs]"  # heading; what stands above it is what the example jobs need
PAUSE_S = 0.2  # between two looks whether a person said stop
MOST = 16  # processes; each takes a third of a gigabyte
GIVING_WAY = 10  # niceness
COMPILER = ("-m", "sagger.desk.planning.compiling")


class ListedKernel(NamedTuple):
    """A kernel of this program, those that it calls, and what it is compiled for."""

    name: str  # geometry.pile.columns._cut
    after: tuple[str, ...]
    takes: tuple[str, ...]  # see `signatures`


class Warmed(NamedTuple):
    """What came of it."""

    kernels: int
    ready: int
    seconds: float


def warm(*, everything: bool = False, tick: Tick = silent) -> Warmed:
    """Compile what the example jobs need, or everything; what is compiled already is only looked at."""
    from sagger.compiled import code

    began, ready = time.monotonic(), 0
    kernels, needed = listed(everything), len(listed())
    for before, part in ((0, kernels[:needed]), (needed, kernels[needed:])):  # a job waits for the first only
        tell = partial(_tell, tick, len(kernels), before)
        with code.alone(code.home(), tell):
            ready += sum(_compile(part, tell))
    code.tidy()
    if code.keeps():
        _mark(everything).touch()
    return Warmed(len(kernels), ready, time.monotonic() - began)


def in_background() -> subprocess.Popen[bytes] | None:
    """A process that compiles everything and gives way to others; None if all is compiled."""
    if not cold(everything=True):
        return None
    nowhere = subprocess.DEVNULL
    command = [sys.executable, "-m", "sagger", "warm", "--all"]
    process = subprocess.Popen(command, stdin=nowhere, stdout=nowhere, stderr=nowhere)
    os.setpriority(os.PRIO_PROCESS, process.pid, GIVING_WAY)
    return process


def warmed(tick: Tick) -> None:
    """Nothing, once the kernels are compiled; if that has still to be done on this machine, says so."""
    if cold():
        warm(tick=tick)


def cold(everything: bool = False) -> bool:
    """Whether the kernels that the example jobs need, or all, have still to be compiled, and can be kept."""
    from sagger.compiled import code

    return not _mark(everything).exists() and code.keeps()


def listed(everything: bool = False) -> list[ListedKernel]:
    """The kernels of `kernels.txt`, callees first."""
    kernels: list[ListedKernel] = []
    for line in LISTED.read_text("utf-8").splitlines():
        if line == REST and not everything:
            break
        if line.startswith("  "):
            name, after, takes = kernels.pop()
            kernels.append(ListedKernel(name, after, (*takes, line.strip())))
        elif line and line[0] not in "#[":
            name, *callees = line.split()
            kernels.append(ListedKernel(name, tuple(callees), ()))
    return kernels


def _mark(everything: bool) -> Path:
    """A file that is there once these kernels were compiled from these sources."""
    from sagger.compiled import code

    kernels = listed(everything)
    modules = sorted({kernel.name.rpartition(".")[0] for kernel in kernels})
    text = repr((kernels, [code.folder(f"sagger.{module}").name for module in modules]))
    return code.home() / f"warmed-{hashlib.sha256(text.encode()).hexdigest()[:12]}"


def _tell(tick: Tick, total: int, before: int, done: int = 0) -> None:
    from sagger import compiled

    tick.say(compiled.DOING, before + done, total)


def _compile(kernels: list[ListedKernel], say: Callable[[int], None]) -> Iterator[bool]:
    """Whether each could be compiled, as they get done."""
    waiting, running, done = list(kernels), dict[Future[bool], str](), set[str]()
    with _crew(min(_cores(), MOST)) as begin:
        while waiting or running:
            say(len(done))
            blocked = {kernel.name for kernel in waiting} | set(running.values())
            for kernel in [kernel for kernel in waiting if blocked.isdisjoint(kernel.after)]:
                running[begin(kernel)] = kernel.name
                waiting.remove(kernel)
            for ended in wait(running, PAUSE_S, FIRST_COMPLETED).done:
                done.add(running.pop(ended))
                yield ended.exception() is None and ended.result()
    say(len(done))


def _cores() -> int:
    """Those that this process may use, where the system says so."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _crew(size: int) -> Iterator[Callable[[ListedKernel], Future[bool]]]:
    """Processes that compile; each has a thread here that hands it one kernel after the other."""
    mine, processes = threading.local(), list[subprocess.Popen[str]]()

    def begin() -> None:
        mine.process = _compiler()
        processes.append(mine.process)

    def compile_one(kernel: ListedKernel) -> bool:
        mine.process.stdin.write(json.dumps([kernel.name, kernel.takes]) + "\n")
        mine.process.stdin.flush()
        answer = mine.process.stdout.readline()
        if not answer:  # it died of this one
            begin()
        return bool(answer == "ready\n")

    threads = ThreadPoolExecutor(size, initializer=begin)
    try:
        yield lambda kernel: threads.submit(compile_one, kernel)
    finally:
        for process in processes:
            process.kill()
        threads.shutdown(cancel_futures=True)
        for process in processes:
            process.communicate()


def _compiler() -> subprocess.Popen[str]:
    pipe, nowhere = subprocess.PIPE, subprocess.DEVNULL
    command = [sys.executable, *COMPILER]
    return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=nowhere, text=True)
