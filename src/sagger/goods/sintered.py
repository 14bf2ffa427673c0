"""What the furnace will give."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy import ndarray

from sagger.goods.debinding import Debinding
from sagger.goods.finding import Finding
from sagger.goods.good import good, holds
from sagger.goods.load import Load
from sagger.goods.powder import Segment


def _no_draws() -> ndarray:
    return np.zeros((0, 3))


def _no_change() -> ndarray:
    return np.zeros(3)


@good
class Place:
    """A place in the furnace that is colder or hotter than the programme says."""

    name: str = holds("which of the two", one_of=("coldest", "hottest"))
    warmer: float = holds("than the programme", "K", shown="K")
    density: float = holds("reached there", "share")
    ratio: ndarray = holds("finished over green length there", length=3)  # float64 (3,), machine x, y, z


@good
class ProgrammeProposal:
    """The quickest programme that gives the card's density by the law; to be tried, not planned."""

    programme: tuple[Segment, ...] = holds("its stretches")
    run: float = holds("heating, holds and cooling", "s")
    density: float = holds("by the law", "share")
    bounds: str = holds("what it was searched within")


@good
class Sintered:
    """What the furnace will give."""

    programme: tuple[Segment, ...] = holds("that is run")
    load: Load = holds("how the pieces share furnace runs")
    time: ndarray  # float64 (n,) [s] from start of heating
    temperature: ndarray  # float64 (n,) [K]
    density: ndarray  # float64 (n,) relative [-]
    burnout: ndarray  # float64 (n,) share of binder gone [-]
    final_density: float = holds("reached by the programme", "share")
    final_density_u: float = holds("standard uncertainty of a piece anywhere in the furnace", "share")
    ratio: ndarray = holds("finished over green length along machine x, y, z", length=3)  # float64 (3,)
    ratio_u: ndarray = holds("standard uncertainty", length=3)  # float64 (3,)
    run: float = holds("heating, holds and cooling", "s")
    findings: tuple[Finding, ...]
    ratio_u_furnace: ndarray = holds(  # float64 (3,)
        "the part of ratio_u that is a piece's place in the furnace", length=3
    )
    places: tuple[Place, ...] = holds(
        "what the furnace's non-uniformity does; empty if it has none", default=()
    )
    grain: ndarray | None = None  # float64 (n,) grain size [m]; None where the card has no grain growth
    proposal: ProgrammeProposal | None = holds(
        "None if no programme within bounds is much quicker", default=None
    )
    debinding: Debinding | None = holds("None if no binder has to leave", default=None)
    # The ends of the interval are None, and the next two empty, in jobs of earlier editions.
    density_low: float | None = holds(
        "2.5 % of pieces, anywhere in the furnace, may come out less dense", "share", default=None
    )
    density_high: float | None = holds("2.5 % of pieces may come out denser", "share", default=None)
    # float64 (m, 3): ratio along x, y, z in the middle of the furnace, one row for each draw of what the shop
    # does not know of card and law; in random order, so that a row may be paired with any other source's
    ratio_draws: ndarray = dataclasses.field(default_factory=_no_draws)
    ratio_per_kelvin: ndarray = holds(  # float64 (3,)
        "root mean square change of the ratio along x, y, z for each kelvin that a place is warmer",
        default_factory=_no_change,
        length=3,
    )
    ratio_u_load: ndarray = holds(  # float64 (3,)
        "the part of ratio_u that differs from furnace run to furnace run",
        default_factory=_no_change,
        length=3,
    )
