"""A part file looked at: healed, sized, turned, measured, with findings."""

from __future__ import annotations

import numpy as np

from sagger import units
from sagger.errors import StopError
from sagger.geometry import mesh, thickness
from sagger.geometry.heal import Healed, heal
from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.goods.order import Choices, Request
from sagger.goods.part import Part
from sagger.goods.shape import PartFile
from sagger.stations.intake.drawn import layer, vanishing
from sagger.stations.intake.fit import fits
from sagger.stations.intake.sag import sagging
from sagger.stations.intake.stance import sags_mm, standing
from sagger.stations.intake.surface import surface
from sagger.stations.intake.turns import rotation, turns
from sagger.stations.intake.unpack import unpacking
from sagger.stations.intake.walls import gaps, walls
from sagger.tick import Tick, silent


def check(request: Request, file: PartFile, cell: Cell, choices: Choices, *, tick: Tick = silent) -> Part:
    """The part with its size, volume, thickest wall, allowed turns, and what was noticed about it.

    Parameters
    ----------
    request : Request
        Scale and turn are applied here, scale first.
    file : PartFile
    cell : Cell
        Powder, head and box set the limits; every limit is named in the finding that uses it.
    choices : Choices
        Layer height, bleed and soaking depth unless the request says them, whether sag chooses; see `asked`.
    tick : Tick

    Returns
    -------
    Part
        In mm, in the axes in which it is to lie in the box. A part that cannot be made has a finding of
        level "stop"; it is no error.

    Raises
    ------
    StopError
        If nothing is left of the surface once collapsed and loose triangles are dropped.
    """
    tick.say("healing", 0, 4)
    linear = rotation(request.rotation_deg) * request.scale
    healed = heal(mesh.mapped(file.shape, linear))
    body = healed.shape
    if not len(body.triangles):
        raise StopError(
            f"{file.name}: no surface is left once collapsed and loose triangles are dropped; export it again"
        )
    allowed = turns(request.orientations)
    tick.say("measuring walls", 1, 4)
    inward, outward, thickest, _ = thickness.measure(body)
    tick.say("looking for ways out of loose powder", 2, 4)
    met, unpacked = unpacking(healed, inward, cell)
    findings = [
        *_size(request, file, healed),
        *surface(healed),
        *fits(body, allowed, cell),
        walls(inward, allowed, cell, layer(cell, choices)),
        *vanishing(inward, allowed, cell, request, choices),
        gaps(outward, cell),
        *unpacked,
    ]
    tick.say("looking for what sags", 3, 4)
    if not healed.open_edges:
        findings += [*sagging(body, request, cell), *standing(body, request, cell)]
    by_sag = choices.nesting.prefer == "sag" and not healed.open_edges
    x, y, z = (float(size) for size in mesh.extent(body))
    tick.say("done", 4, 4)
    return Part(
        request=request,
        digest=file.digest,
        shape=body,
        volume_mm3=mesh.volume(body),
        area_mm2=mesh.area(body),
        extent_mm=(x, y, z),
        thickest_mm=thickest,
        turns=allowed,
        healed=healed.notes,
        findings=tuple(findings),
        unpacking=met,
        sag_mm=sags_mm(body, allowed, cell) if by_sag else None,
    )


def _size(request: Request, file: PartFile, healed: Healed) -> list[Finding]:
    """Whether the unit was known, and how large the part is with it."""
    x, y, z = np.asarray(mesh.extent(healed.shape))
    size = f"{x:.4g} x {y:.4g} x {z:.4g} mm"
    scaled = "" if request.scale == 1 else f", scaled by {request.scale:g} as ordered"
    if file.unit_from != "assumed":
        text = f"The part is {size} (unit {file.unit} from the {file.unit_from}{scaled})."
        return [Finding(level="ok", what="unit", text=text)]
    other, word = ("in", "inches") if file.unit == "mm" else ("mm", "millimetres")
    factor = units.unit(other).factor / units.unit(file.unit).factor
    text = (
        f"The file names no unit; {file.unit} was assumed, which makes the part {size}{scaled}. "
        f"Read in {word} it would be {x * factor:.4g} x {y * factor:.4g} x {z * factor:.4g} mm."
    )
    remedy = f'Say the unit in the order: unit = "{file.unit}" or unit = "{other}".'
    return [
        Finding(level="look", what="unit", text=text, value=float(max(x, y, z)), unit="mm", remedy=remedy)
    ]
