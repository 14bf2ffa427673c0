"""What the pictures of a job are made from: keys of goods in the ledger, and the goods.

Keys are digests, so what lies under one never changes.
"""

from __future__ import annotations

import functools
import re
from typing import Any, TypeVar

from sagger.desk.home import ledger
from sagger.errors import LedgerError
from sagger.goods.green import Green
from sagger.goods.learned import BedMap
from sagger.goods.part import Part
from sagger.goods.stack import Stack
from sagger.ledger import bodies, learned, works

RUNGS = (48, 150, 1000, 8000)  # triangles of the coarser forms of a part; 0 asks for all

T = TypeVar("T")
_KEY = re.compile("[0-9a-f]{32}")


def boxes(job: int) -> list[dict[str, str]]:
    """Keys of each box of a job, in order: of its stack of layers, and of its cure ("" if not reached)."""
    used = works.of_job(ledger(), job)
    stacks = _outputs(used, "layers.draw")
    cures = _outputs(used, "cure.plan")
    return [{"stack": key, "cured": cures[n] if n < len(cures) else ""} for n, key in enumerate(stacks)]


def parts(job: int) -> list[str]:
    """Keys of the parts of a job as they were looked at, in the order's order."""
    return _outputs(works.of_job(ledger(), job), "intake.check")


def bent(job: int) -> list[str]:
    """Keys of the green parts of a job that were followed through the furnace."""
    return _outputs(works.of_job(ledger(), job), "sinter.predeform")


def green(key: str) -> Green:
    """The green part kept under `key`."""
    return kept(key, Green)


def part(key: str) -> Part:
    """The part kept under `key`."""
    return kept(key, Part)


def stack(key: str) -> Stack:
    """The stack of layers kept under `key`."""
    return kept(key, Stack)


def bed_map(key: str) -> BedMap | None:
    """The map of green density that is in force for the box whose stack is kept under `key`."""
    layout = stack(key).layout
    factors = layout.greens[0].factors
    return learned.in_force(ledger(), factors.material, layout.box.name, factors.lot).bed


def kept(key: str, kind: type[T]) -> T:
    """The good of a kind kept under `key`.

    Raises
    ------
    LedgerError
        If there is none.
    """
    if not _KEY.fullmatch(key):
        raise LedgerError("this is no key of the ledger")
    found = _opened(key, str(ledger().folder))
    if not isinstance(found, kind):
        raise LedgerError(f"{key} is no {kind.__name__.lower()}")
    return found


def outputs(job: int, verb: str) -> list[str]:
    """Keys of what a verb, "nest.pack", gave a job, in the order it was asked."""
    return _outputs(works.of_job(ledger(), job), verb)


def _outputs(used: list[dict[str, Any]], verb: str) -> list[str]:
    """Keys of what a verb gave a job, in the order it was asked."""
    return [row["output"] for row in used if row["verb"] == f"sagger.stations.{verb}"]


@functools.lru_cache(maxsize=16)
def _opened(key: str, home: str) -> Any:
    # Kept by digest, so it cannot have changed; the folder tells one ledger from another.
    return bodies.get(ledger(), key)
