"""How one box is unpacked, and how much powder comes back."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds


@good
class Cleaning:
    """What one part asks for while it is unpacked."""

    part: int = holds("index into `parts`")
    pieces: int = holds("in this box")
    # "brush and air", "air, no brush", "neither brush nor jet", "support first" or "not looked at"
    means: str = holds("what its thinnest wall bears: brush and air; air, no brush; …")
    trapped: float = holds("powder that stays in each piece", "kg", shown="g")
    pockets: float = holds("powder in each piece that leaves through channels", "kg", shown="g")
    slimness: float = holds("length over width of the longest way out for its width; 0 = no channel")
    openings: int = holds("of the pocket that this way belongs to")
    hands_on: float = holds("work on each piece, beside its share of the cake", "s", shown="min", default=0.0)


@good
class Depowdering:
    """How one box is unpacked, and how much powder comes back."""

    hands_on: float = holds("work", "s")
    cake: float = holds("powder out of the box to the sieve", "kg")
    cake_u: float = holds("standard uncertainty, as far as the powder card states its own", "kg")
    overfed: float = holds("powder that never lay in the box", "kg")
    trapped: float = holds("stays in the pieces", "kg")
    pockets: float = holds("leaves through channels; part of cake_kg", "kg")
    lost: float = holds("sieve, dust", "kg")
    standing: str = holds("of the weakest figure that these masses rest on")
    cleanings: tuple[Cleaning, ...] = holds("one per part in this box")
    findings: tuple[Finding, ...]
