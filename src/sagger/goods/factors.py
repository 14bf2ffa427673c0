"""Oversize factors per machine axis, with uncertainty, and what they were measured under."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds
from sagger.goods.powder import Segment


@good
class Conditions:
    """What oversize factors were measured under, or what a job is made under."""

    basis: str = holds("where these conditions come from, in words")
    powder: str = holds("powder card")
    lot: str = holds("powder lot; empty = not known, the card stands for it", default="")
    green_density: float = holds("relative, binder excluded", "share")
    green_density_u: float = holds("standard uncertainty", "share")
    grain: float = holds("median grain size of the powder", "m", shown="um")
    layer: float = holds("height of a layer", "m", shown="um")
    binder: str = holds("binder card")
    saturation: float = holds("binder volume over pore volume", "share")
    head: str = holds("head card")
    box: str = holds("box card")
    furnace: str = holds("furnace card")
    programme: tuple[Segment, ...] = holds("of the furnace")
    density: float = holds("reached, relative", "share")
    density_u: float = holds("standard uncertainty", "share")
    density_from: str = holds(
        "what the density rests on: the law's forecast, the card, or a measurement",
        one_of=("law", "card", "measured"),
        default="law",
    )


@good
class Factors:
    """Oversize factors: green length over finished length, along machine x, y, z."""

    k: ndarray = holds("green over finished length", length=3)  # float64 (3,)
    u: ndarray = holds("standard uncertainty of k", length=3)  # float64 (3,)
    material: str = holds("powder card that they hold for")
    origin: str = holds("card, casting contraction, or the ledger's entry")
    lot: str = holds("powder lot that they hold for; empty = any", default="")
    conditions: Conditions | None = holds(
        "what approved factors were measured under; null if they come from the card", default=None
    )


@good
class Foretold:
    """How much a body shrinks by the law of densification, as a ratio of volumes."""

    density: float  # reached, relative [-]
    density_u: float  # of a piece anywhere in the furnace [-]
    volume: float  # green over finished volume, by the card's own figures [-]
    volume_draws: ndarray  # float64 (n,): the same in each world of `Sintered.ratio_draws`
    density_draws: ndarray  # float64 (n,): reached in each of them [-]


@good
class Carried:
    """What approved factors come to under the conditions of this job, by the law of densification.

    A length is out by `shift` where the job prints with the factors as approved; with the carried ones it is
    not. All doubts are relative standard uncertainties of a finished length.
    """

    then: Conditions = holds("what the approved factors were measured under")
    now: Conditions = holds("what this job is made under")
    shift: ndarray = holds(  # float64 (3,)
        "finished length now over then, of one printed length, along machine x, y, z", length=3
    )
    # float64 (n, 3): the same in worlds of one weight; none where worlds weigh differently, see u_shift
    shift_draws: ndarray
    u_shift: ndarray = holds(  # float64 (3,)
        "standard uncertainty of `shift`, relative, by law and green densities", length=3
    )
    u_lot: float = holds("standard deviation of a length from lot to lot; 0 in the lot measured then")
    lot_basis: str = holds("what u_lot rests on", one_of=("readings", "card", ""))
    u_untold: float = holds("doubt for what differs and no law counts; assumed")
    approved: Factors  # as a person approved them
    factors: Factors  # as they would be right in this job
    printed: str = holds("which of both the job prints with", one_of=("approved", "carried"))
    differs: tuple[str, ...] = holds("what is other than then, in words")
    findings: tuple[Finding, ...]
