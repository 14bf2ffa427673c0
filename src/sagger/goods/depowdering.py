"""How one box is unpacked, and how much powder comes back."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Cleaning:
    """What one part asks for while it is unpacked."""

    part: int  # index into the layout's greens
    pieces: int  # in this box
    means: (
        str  # "brush and air", "air, no brush", "neither brush nor jet", "support first" or "not looked at"
    )
    trapped: float  # powder that stays in each piece [kg]
    pockets: float  # powder in each piece that leaves through channels [kg]
    slimness: float  # length over width of the longest way out for its width [-]; 0 = no channel
    openings: int  # of the pocket that this way belongs to


@good
class Depowdering:
    hands_on: float  # [s]
    cake: float  # powder out of the box to the sieve [kg]
    cake_u: float  # standard uncertainty [kg]
    overfed: float  # powder that never lay in the box [kg]
    trapped: float  # stays in the pieces [kg]
    pockets: float  # leaves through channels; part of `cake` [kg]
    lost: float  # sieve, dust [kg]
    standing: str  # of the weakest figure that these masses rest on
    cleanings: tuple[Cleaning, ...]  # one per part in this box
    findings: tuple[Finding, ...]
