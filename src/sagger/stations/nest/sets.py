"""Which pieces may go into the next box: sets that stay together, sets that stay apart."""

from __future__ import annotations

import dataclasses

import numpy as np

from sagger.errors import StopError
from sagger.goods.green import Green
from sagger.stations.nest.search import RankedFilling

_FIRST = "0000"  # a due date before all others


def allowed(greens: tuple[Green, ...], left: np.ndarray, waiting: tuple[str, ...]) -> np.ndarray:
    """Those of the pieces `left` (their parts) that may share the next box.

    Parts whose `apart` names differ never share one; the name that is due first goes first. Sets in `waiting`
    stay out of this box.
    """
    requests = [green.part.request for green in greens]
    named = sorted({(requests[kind].due or "9999", kind) for kind in left.tolist() if requests[kind].apart})
    lead = requests[named[0][1]].apart if named else ""
    may = [
        request.apart in ("", lead) and (not request.together or request.together not in waiting)
        for request in requests
    ]
    return np.asarray(left[np.array(may)[left]])


def split(filling: RankedFilling, pieces: np.ndarray) -> list[str]:
    """Names of sets of which some pieces found a place and some did not."""
    greens = filling.shared.greens
    rest = {greens[kind].part.request.together for kind in filling.rest} - {""}
    total, left = (
        np.bincount(pieces, minlength=len(greens)),
        np.bincount(np.array(filling.rest, dtype=np.int64), minlength=len(greens)),
    )
    placed = {greens[kind].part.request.together for kind in np.flatnonzero(total - left)}
    return sorted(rest & placed)


def led(greens: tuple[Green, ...], lead: str) -> tuple[Green, ...]:
    """The parts with those of set `lead` due before all others."""
    return tuple(
        _hurried(green) if lead and green.part.request.together == lead else green for green in greens
    )


def refuse(name: str, title: str) -> StopError:
    """What is said when a set does not fit into one box."""
    return StopError(
        f"the parts that are to stay together as {name!r} do not all fit into one box {title}; split the "
        f"set, take a larger box or allow more orientations"
    )


def _hurried(green: Green) -> Green:
    request = dataclasses.replace(green.part.request, due=_FIRST)
    return dataclasses.replace(green, part=dataclasses.replace(green.part, request=request))
