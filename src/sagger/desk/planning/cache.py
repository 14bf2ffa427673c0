"""The one clever seam: `make` does a work once, remembers what it gave, and writes down who used it."""

from __future__ import annotations

import inspect
import time
from collections.abc import Callable
from typing import ParamSpec, TypeVar, cast

from sagger.goods.good import Key, digest
from sagger.ledger import Ledger, bodies, jobs, works
from sagger.line import Make
from sagger.tick import Tick

P = ParamSpec("P")
R = TypeVar("R")


def maker(ledger: Ledger, job: int, tick: Tick) -> Make:
    """A `make` that answers from the ledger where it can.

    A work is named by its verb, the verb's edition and the digests of its inputs. A run that was killed
    finds here what it had finished.
    """
    run = ticking(tick)
    answers: dict[str, object] = {}

    def make(verb: Callable[P, R], /, *inputs: P.args, **named: P.kwargs) -> R:
        name, edition = works.named(verb)
        digests: list[str] = [digest(value) for value in (*inputs, *named.items())]
        work = works.Work(digest((name, edition, digests)), name, edition, digests)
        if work.key not in answers:
            jobs.tell(ledger, job, step=works.room(verb), doing="", done=0, total=0, improving=False)
            output = works.find(ledger, work.key)
            if output is None:
                began = time.monotonic()
                value = run(verb, *inputs, **named)
                works.record(ledger, work, value, time.monotonic() - began)
            else:
                value = bodies.get(ledger, Key[R](output))
            answers[work.key] = value
            works.note_use(ledger, job, work.key, remembered=output is not None)
        return cast(R, answers[work.key])

    return make


def ticking(tick: Tick) -> Make:
    """A `make` that remembers nothing, but says how far the work is."""

    def make(verb: Callable[P, R], /, *inputs: P.args, **named: P.kwargs) -> R:
        tick.say(works.short(works.named(verb)[0]))
        if "tick" in inspect.signature(verb).parameters:
            named["tick"] = tick
        return verb(*inputs, **named)

    return make
