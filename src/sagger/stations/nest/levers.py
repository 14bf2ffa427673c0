"""Where a nest is empty, and what would make it lower: other choices nested as well, one change at a time."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.goods.finding import Against, ok
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Nest
from sagger.goods.order import Choices
from sagger.stations.nest.noted import high_mm, noted

_CLOSER = 0.75  # of the gap
_PARTS = 3  # whose orientations are freed, those with most pieces first
_FREER = {"up": ("sideways", "any"), "sideways": ("any",)}
_FREE = 24  # turns of a cube
_FAINT = 0.05  # [mm] gains below this are none

PackParts = Callable[[tuple[Green, ...], Choices], Nest]


class Lever(NamedTuple):
    """One other choice."""

    words: str  # "... lower <words>"
    greens: tuple[Green, ...]
    choices: Choices


def weighed(
    nest: Nest, nested: PackParts, greens: tuple[Green, ...], choices: Choices, gap_mm: float
) -> Nest:
    """The nest with a word on where it is empty and what would take off how many millimetres.

    Parameters
    ----------
    nested : callable
        Nests parts with given choices, at the same effort as `nest`.
    gap_mm : float
        Between pieces of `nest`.
    """
    high, gains = high_mm(nest), []
    for lever in _levers(greens, choices, gap_mm):
        gains.append((high - _height(nested, lever), lever.words))
    gains.sort(key=lambda gain: -gain[0])
    bought = [f"{gain:.1f} mm lower {words}" for gain, words in gains if gain > _FAINT]
    none = [words for gain, words in gains if gain <= _FAINT]
    text = _emptiest(max(nest.layouts, key=lambda layout: layout.height_mm))
    text += f" Nested again it is {'; '.join(bought)}." if bought else ""
    text += f" Nothing is gained {'; '.join(none)}." if none else ""
    least = high - max([gain for gain, _ in gains if gain > _FAINT], default=0.0)
    return noted(nest, ok("what buys height", text, Against(high, least, "mm", "nested again")))


def _height(nested: PackParts, lever: Lever) -> float:
    """Heights of all builds [mm]; endless where that choice cannot be."""
    try:
        return high_mm(nested(lever.greens, lever.choices))
    except StopError:
        return np.inf


def _levers(greens: tuple[Green, ...], choices: Choices, gap_mm: float) -> Iterator[Lever]:
    closer = round(gap_mm * _CLOSER, 3)
    yield Lever(
        f"with {closer:g} mm between pieces instead of {gap_mm:g} mm", greens, _with_gap(choices, closer)
    )
    for lift in _FREER.get(choices.nesting.lift, ()):
        freer = dataclasses.replace(choices, nesting=dataclasses.replace(choices.nesting, lift=lift))
        yield Lever(f'with lift = "{lift}"', greens, freer)
    bound = [part for part, green in enumerate(greens) if len(green.maps) < _FREE]
    bound.sort(key=lambda part: -greens[part].part.request.quantity)
    for part in bound[:_PARTS] if choices.nesting.prefer == "height" else ():
        freed = (*greens[:part], _free(greens[part]), *greens[part + 1 :])
        yield Lever(f"if {greens[part].part.request.name!r} may lie in any of 24 ways", freed, choices)


def _with_gap(choices: Choices, gap_mm: float) -> Choices:
    asked = choices.nesting
    gap_z = None if asked.gap_z_mm is None else asked.gap_z_mm * _CLOSER
    return dataclasses.replace(choices, gap_mm=gap_mm, nesting=dataclasses.replace(asked, gap_z_mm=gap_z))


def _free(green: Green) -> Green:
    """The part in its own orientations and all quarter turns of the first."""
    signed = itertools.product(itertools.permutations(range(3)), itertools.product((1.0, -1.0), repeat=3))
    cube = [np.eye(3)[list(order)] * np.array(signs)[:, None] for order, signs in signed]
    turns = np.array([turn for turn in cube if np.linalg.det(turn) > 0])
    oversize = green.maps[0] @ green.part.turns[0].T
    part = dataclasses.replace(green.part, turns=np.concatenate([green.part.turns, turns]), sag_mm=None)
    return dataclasses.replace(green, part=part, maps=np.concatenate([green.maps, oversize @ turns]))


def _emptiest(layout: Layout) -> str:
    """Where least is printed."""
    slab = int(np.argmin(layout.filling))
    ends = np.array([slab, slab + 1]) * layout.height_mm / len(layout.filling)
    return (
        f"Emptiest from {ends[0]:.1f} to {ends[1]:.1f} mm, where {layout.filling[slab]:.0%} of the bed is "
        f"printed; {layout.filling.mean():.0%} on the mean."
    )
