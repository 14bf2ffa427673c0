"""Findings about powder that cannot leave the part."""

from __future__ import annotations

from sagger.geometry.cavities import Hollow, choked, sealed
from sagger.geometry.heal import Healed
from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.stations.intake.fit import cited, oversize
from sagger.stations.intake.surface import place


def trapped(healed: Healed, cell: Cell) -> Finding:
    """Hollows without opening ("stop") or with openings narrower than powder needs ("look")."""
    channel = cell.powder.escape_channel.value * 1000
    closed = sealed(healed.shape, healed.shells)
    if closed:
        text = f"{_count(closed)} without any opening: {_amount(closed, cell)} stays inside for good."
        remedy = f"Give each hollow openings of at least {channel:.3g} mm, best two, or make it solid."
        return _finding("stop", text, closed, cell, remedy)
    if healed.open_edges:
        text = "The surface is open, so it cannot be told whether powder is trapped."
        return _finding("look", text, [], cell, "Close the surface first.")
    narrow, cell_mm = choked(healed.shape, channel)
    judged = f"openings judged to about {cell_mm:.2g} mm"
    if narrow:
        text = (
            f"{_count(narrow)} whose openings are narrower than the {channel:.3g} mm through which "
            f"{cell.powder.name} leaves: {_amount(narrow, cell)} may stay inside ({judged})."
        )
        return _finding("look", text, narrow, cell, f"Widen an opening to {channel:.3g} mm, best two.")
    text = f"Loose powder leaves every hollow through {channel:.3g} mm or more ({judged})."
    return _finding("ok", text, [], cell, "")


def _count(hollows: list[Hollow]) -> str:
    return "One hollow" if len(hollows) == 1 else f"{len(hollows)} hollows"


def _amount(hollows: list[Hollow], cell: Cell) -> str:
    """Volume and mass of loose powder at green size."""
    volume = sum(hollow.volume_mm3 for hollow in hollows) * oversize(cell.powder) ** 3
    mass = volume * 1e-9 * cell.powder.packing.value * cell.powder.solid_density.value
    return f"{volume / 1000:.3g} cm3 or {mass * 1000:.3g} g of powder as printed"


def _finding(level: str, text: str, hollows: list[Hollow], cell: Cell, remedy: str) -> Finding:
    largest = max(hollows, key=lambda hollow: hollow.volume_mm3, default=None)
    return Finding(
        level=level,
        what="trapped powder",
        text=text,
        value=sum(hollow.volume_mm3 for hollow in hollows),
        limit=0.0,
        unit="mm3",
        at_mm=None if largest is None else place(largest.at_mm),
        source=cited(cell.powder.escape_channel),
        remedy=remedy,
    )
