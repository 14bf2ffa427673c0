"""How far work is: a bar on a terminal, quiet lines otherwise; both on stderr."""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

import click

from sagger.tick import Report, Tick

QUIET_S = 5.0  # between lines where there is no terminal


@contextmanager
def shown() -> Iterator[Tick]:
    """A tick that draws on stderr, and stops at Ctrl-C or a polite kill. A second one ends the program.

    While something good is only being made better, the first Ctrl-C says that it will do.
    """
    stop, enough = threading.Event(), threading.Event()

    def hear(number: int, frame: FrameType | None) -> None:
        if number == signal.SIGINT and tick.improving and not enough.is_set():
            enough.set()
        elif stop.is_set():
            raise KeyboardInterrupt
        else:
            stop.set()

    tick = Tick(lambda doing, done, total: None, stop.is_set)
    before = {number: signal.signal(number, hear) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        with _bar() if sys.stderr.isatty() else _lines() as report:
            tick = Tick(report, stop.is_set, enough.is_set)
            yield tick
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextmanager
def _bar() -> Iterator[Report]:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    count = MofNCompleteColumn(separator=" of ")
    columns = (TextColumn("{task.description:<28}"), BarColumn(), count, TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=None)

        def report(doing: str, done: int, total: int) -> None:
            progress.update(task, description=doing, completed=done, total=total or None)

        yield report


@contextmanager
def _lines() -> Iterator[Report]:
    at = time.monotonic()

    def report(doing: str, done: int, total: int) -> None:
        # What is over within a few seconds is not worth a line.
        nonlocal at
        now = time.monotonic()
        if now - at >= QUIET_S:
            at = now
            click.echo(f"{doing}, {done} of {total}" if total else doing, err=True)

    yield report
