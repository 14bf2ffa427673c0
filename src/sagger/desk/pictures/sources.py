"""What the pictures of a job are made from: keys of goods in the ledger, and the goods.

Keys are digests, so what lies under one never changes.
"""

from __future__ import annotations

import functools
import re
from itertools import repeat
from typing import NamedTuple, TypeVar

from sagger.desk.home import ledger
from sagger.desk.so_far import so_far
from sagger.errors import LedgerError
from sagger.goods.good import Key
from sagger.goods.green import Green
from sagger.goods.learned import BedMap
from sagger.goods.part import Part
from sagger.goods.stack import Stack
from sagger.ledger import bodies, learned

RUNGS = (48, 150, 1000, 8000)  # triangles of the coarser forms of a part; 0 asks for all

T = TypeVar("T")
_KEY = re.compile("[0-9a-f]{32}")


class BoxKeys(NamedTuple):
    """Where the pictures of one box of a job come from."""

    stack: str  # key of its stack of layers
    cured: str  # key of its cure; "" if the job has not come that far


def boxes(job: int) -> list[BoxKeys]:
    """Keys of each box of a job whose layers can be drawn, in order."""
    done = so_far(ledger(), job)
    cures = (*done.cured, *repeat("", len(done.stacks) - len(done.cured)))
    return [BoxKeys(*keys) for keys in zip(done.stacks, cures, strict=True)]


def parts(job: int) -> list[str]:
    """Keys of the parts of a job as they were looked at, in the order's order."""
    return list(so_far(ledger(), job).parts)


def bent(job: int) -> list[str]:
    """Keys of the green parts of a job that were followed through the furnace."""
    return list(so_far(ledger(), job).bent)


def green(key: str) -> Green:
    """The green part kept under `key`."""
    return good_at(key, Green)


def part(key: str) -> Part:
    """The part kept under `key`."""
    return good_at(key, Part)


def stack(key: str) -> Stack:
    """The stack of layers kept under `key`."""
    return good_at(key, Stack)


def bed_map(key: str) -> BedMap | None:
    """The map of green density that is in force for the box whose stack is kept under `key`."""
    layout = stack(key).layout
    factors = layout.greens[0].factors
    return learned.in_force(ledger(), factors.material, layout.box.name, factors.lot).bed


def good_at(key: str, kind: type[T]) -> T:
    """The good of a kind kept under `key`.

    Raises
    ------
    LedgerError
        If there is none.
    """
    if not _KEY.fullmatch(key):
        raise LedgerError("this is no key of the ledger")
    opened = _opened(key, str(ledger().folder))
    if not isinstance(opened, kind):
        raise LedgerError(f"{key} is no {kind.__name__.lower()}")
    return opened


@functools.lru_cache(maxsize=16)
def _opened(key: str, home: str) -> object:
    # Kept by digest, so it cannot have changed; the folder tells one ledger from another.
    return bodies.get(ledger(), Key[object](key))
