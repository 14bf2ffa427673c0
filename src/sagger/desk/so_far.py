"""What a job has come to by now, whether it is done or still runs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from sagger.goods.good import Key
from sagger.goods.job import JobSoFar
from sagger.ledger import Ledger, works

R = TypeVar("R")


def so_far(ledger: Ledger, job: int) -> JobSoFar:
    """Keys of what the verbs of a job gave."""
    from sagger import line  # with all stations; who only lists jobs does not wait for them

    used = works.of_job(ledger, job)

    def made(verb: Callable[..., R], /) -> tuple[Key[R], ...]:
        return works.outputs(used, verb)

    return line.so_far(made)
