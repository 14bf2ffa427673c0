"""A bed printed evenly: pieces farther apart along z until no layer holds more than was asked."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from sagger.errors import StopError
from sagger.goods.finding import Against, advice
from sagger.goods.layout import Nest
from sagger.goods.order import Choices
from sagger.stations.nest.noted import high_mm, noted

_WIDER = 1.4  # from one try to the next
_TRIES = 9  # the gap along z grows twentyfold


def spread(nested: Callable[[Choices], Nest], choices: Choices, gap_mm: float) -> Nest:
    """The nest with the smallest gap along z, of a few, at which no layer is printed beyond what was asked.

    Parameters
    ----------
    nested : callable
        Nests with given choices.
    choices : Choices
        `nesting.printed_most` is the share of the box area that a layer may have.
    gap_mm : float
        Asked between pieces across.

    Raises
    ------
    StopError
        If no gap along z that was tried is enough, as when one piece alone covers more.
    """
    asked, tight = choices.nesting, nested(choices)
    nest, first = tight, gap_mm if asked.gap_z_mm is None else asked.gap_z_mm
    gap_z = first
    for _ in range(_TRIES):
        if most(nest) <= asked.printed_most:
            return nest if gap_z == first else _told(nest, tight, first, gap_z)
        gap_z *= _WIDER
        nest = nested(dataclasses.replace(choices, nesting=dataclasses.replace(asked, gap_z_mm=gap_z)))
    raise StopError(
        f"a layer is printed over {most(nest):.1%} of the box area even with {gap_z:.3g} mm between pieces "
        f"along z, {asked.printed_most:.0%} were asked; allow more, or turn or divide the parts that lie flat"
    )


def most(nest: Nest) -> float:
    """Largest printed share of any layer of any box [-]."""
    return max((layout.printed_most for layout in nest.layouts), default=0.0)


def _told(wider: Nest, tight: Nest, first: float, gap_z: float) -> Nest:
    heights = [high_mm(nest) for nest in (wider, tight)]
    text = (
        f"To print at most {most(wider):.1%} of the bed in a layer (else {most(tight):.1%}), pieces lie "
        f"{gap_z:.3g} mm apart along z instead of {first:.3g} mm; builds are {heights[0]:.1f} mm high in all "
        f"instead of {heights[1]:.1f} mm."
    )
    remedy = "Allow a larger share if drying and spreading bear it."
    return noted(wider, advice("nest spread", text, Against(heights[0], heights[1], "mm", "choices"), remedy))
