"""The one clever seam: `make` does a work once, remembers what it gave, and writes down who used it."""

from __future__ import annotations

import inspect
import sys
import time
from collections.abc import Callable
from typing import Any

from sagger.goods.good import digest
from sagger.ledger import Ledger, bodies, jobs, works
from sagger.line import Make
from sagger.tick import Tick


def maker(ledger: Ledger, job: int, tick: Tick) -> Make:
    """A `make` that answers from the ledger where it can.

    A work is named by its verb, the verb's edition and the digests of its inputs. A run that was killed
    finds here what it had finished.
    """
    seen: dict[str, object] = {}

    def make(verb: Callable[..., Any], *inputs: object) -> Any:
        name, edition = named(verb)
        digests = [digest(value) for value in inputs]
        key = digest((name, edition, digests))
        if key not in seen:
            jobs.tell(ledger, job, step=room(name), doing="", done=0, total=0, improving=False)
            output = works.find(ledger, key)
            seen[key] = (
                bodies.get(ledger, output) if output else _do(verb, inputs, tick, key, digests, ledger)
            )
            works.note_use(ledger, job, key, remembered=output is not None)
        return seen[key]

    return make


def room(name: str) -> str:
    """The step a work belongs to: "nest" of sagger.stations.nest.pack."""
    return name.removeprefix("sagger.stations.").partition(".")[0]


def _do(
    verb: Callable[..., Any],
    inputs: tuple[object, ...],
    tick: Tick,
    key: str,
    digests: list[str],
    ledger: Ledger,
) -> object:
    name, edition = named(verb)
    tick.say(name.removeprefix("sagger.stations."))
    began = time.monotonic()
    value = verb(*inputs, tick=tick) if "tick" in inspect.signature(verb).parameters else verb(*inputs)
    works.record(ledger, key, name, edition, digests, value, time.monotonic() - began)
    return value


def named(verb: Callable[..., Any]) -> tuple[str, str]:
    """A verb's name by room, and the edition of the room that holds it."""
    package = verb.__module__
    while package:
        edition = getattr(sys.modules[package], "EDITION", None)
        if edition is not None:
            return f"{package}.{verb.__name__}", str(edition)
        package = package.rpartition(".")[0]
    raise TypeError(f"{verb.__module__}.{verb.__name__} belongs to no room with an EDITION")
