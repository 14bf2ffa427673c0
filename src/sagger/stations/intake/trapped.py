"""Findings about powder that cannot leave the part."""

from __future__ import annotations

from typing import NamedTuple

from sagger.geometry.wall.cavities import Hollow
from sagger.goods.cell import Cell
from sagger.goods.figure import cited
from sagger.goods.finding import Against, Finding, ok, risk, stop
from sagger.goods.powder import Powder
from sagger.physics.powder import flow
from sagger.stations.intake.fit import oversize
from sagger.stations.intake.surface import place


class Channel(NamedTuple):
    """The opening that loose powder needs."""

    width_mm: float
    u_mm: float  # standard uncertainty
    because: str
    source: str


def channel(powder: Powder) -> Channel:
    """The smallest round opening through which this powder leaves.

    Source
    ------
    `flow.jam_opening`, and `flow.arching_opening` where the card gives the loose powder's strength; the
    card's own `escape_channel` where it does not.
    """
    jam = flow.jam_opening(powder.d90.value) * 1e3
    strength = powder.loose_strength
    if strength is None:
        card = powder.escape_channel
        because = f"the card's {card.value * 1e3:.3g} mm; five grains would be {jam:.2g} mm"
        return Channel(max(jam, card.value * 1e3), card.u * 1e3, because, cited(card))
    bulk = powder.packing.value * powder.solid_density.value
    arch = flow.arching_opening(strength.value, bulk) * 1e3
    because = f"it arches over less at {strength.printed}; five grains would be {jam:.2g} mm"
    return Channel(
        flow.least_opening(powder.d90.value, bulk, strength.value) * 1e3,
        arch * strength.u / strength.value,
        because,
        cited(strength),
    )


def trapped(
    closed: list[Hollow], narrow: list[Hollow], cell_mm: float | None, needed: Channel, cell: Cell
) -> Finding:
    """Hollows without opening ("stop") or with openings narrower than powder needs ("look").

    `cell_mm`: to which openings are judged; None where the surface is open and nothing could be flooded.
    """
    sure = f" (u {needed.u_mm:.2g})" if needed.u_mm else ""
    channel, hollows = f"{needed.width_mm / oversize(cell.powder):.3g} mm", closed or narrow
    against = Against(sum(hollow.volume_mm3 for hollow in hollows), 0.0, "mm3", needed.source)
    at_mm = place(max(hollows, key=lambda hollow: hollow.volume_mm3).at_mm) if hollows else None
    if cell_mm is None:
        text = "The surface is open, so it cannot be told whether powder is trapped."
        return risk("trapped powder", text, against, "Close the surface first.")
    if closed:
        text = f"{_count(closed)} without any opening: {_amount(closed, cell)} stays inside for good."
        remedy = f"Give each hollow openings of at least {channel}, best two, or make it solid."
        return stop("trapped powder", text, against, remedy, at_mm=at_mm)
    why = f"{needed.width_mm:.3g} mm{sure} as printed: {needed.because}; judged to about {cell_mm:.2g} mm"
    if narrow:
        text = (
            f"{_count(narrow)} whose openings are narrower than the {channel} through which "
            f"{cell.powder.name} leaves: {_amount(narrow, cell)} may stay inside ({why})."
        )
        return risk("trapped powder", text, against, f"Widen an opening to {channel}, best two.", at_mm=at_mm)
    return ok(
        "trapped powder", f"Loose powder leaves every hollow through {channel} or more ({why}).", against
    )


def _count(hollows: list[Hollow]) -> str:
    return "One hollow" if len(hollows) == 1 else f"{len(hollows)} hollows"


def _amount(hollows: list[Hollow], cell: Cell) -> str:
    """Volume and mass of loose powder at green size."""
    volume = sum(hollow.volume_mm3 for hollow in hollows) * oversize(cell.powder) ** 3
    mass = volume * 1e-9 * cell.powder.packing.value * cell.powder.solid_density.value
    return f"{volume / 1000:.3g} cm3 or {mass * 1000:.3g} g of powder as printed"
