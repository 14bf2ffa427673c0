"""A part file looked at: healed, sized, turned, measured, with findings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from numpy import ndarray

from sagger.errors import StopError
from sagger.geometry.surface import mesh
from sagger.geometry.surface.heal import Healed, heal
from sagger.geometry.wall import thickness
from sagger.geometry.wall.thickness import Across
from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.goods.order import Choices, Request
from sagger.goods.part import Part
from sagger.goods.shape import PartFile, Shape
from sagger.stations.intake import general, moved_faces, rough
from sagger.stations.intake.asked_for import asked
from sagger.stations.intake.characteristics import Evaluated, evaluated
from sagger.stations.intake.drawn import layer, once, vanishing
from sagger.stations.intake.fit import fits, oversize
from sagger.stations.intake.off_middle import off_middle
from sagger.stations.intake.sag import sagging
from sagger.stations.intake.stance import sags_mm, standing
from sagger.stations.intake.surface import surface
from sagger.stations.intake.tied import Tied, laid
from sagger.stations.intake.turns import rotation, turns
from sagger.stations.intake.unlikely import senseless, size, too_small
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
    stated = asked(request, file)
    tick.say("healing", 0, 4)
    tied = stated and general.generally(
        laid(stated, rotation(request.rotation_deg), request.scale), request.form
    )
    looked_at = _looked_at(request, file, tied)
    if senseless(looked_at.healed.shape, cell):  # its walls and hollows would be sought for minutes, in vain
        return _sized_only(request, file, looked_at.healed, cell)
    return _examined(
        request, file, (looked_at, tied and _drawn(request, tied, cell, choices)), (cell, choices), tick
    )


class LookedAt(NamedTuple):
    """The body as it is to come out, and as it was drawn."""

    healed: Healed
    moved: tuple[Finding, ...]
    extent_mm: tuple[float, float, float]  # as drawn


def _looked_at(request: Request, file: PartFile, tied: Tied | None) -> LookedAt:
    """Healed, with faces moved if the order says so; sizes stay those of the drawing."""
    turned = mesh.mapped(file.shape, rotation(request.rotation_deg) * request.scale)
    healed = _healed(turned, file)
    x, y, z = (float(size) for size in mesh.extent(healed.shape))
    otherwise = tied and moved_faces.moved(tied)
    if not otherwise:
        return LookedAt(healed, (), (x, y, z))
    return LookedAt(_healed(otherwise.body, file), otherwise.findings, (x, y, z))


def _drawn(request: Request, tied: Tied, cell: Cell, choices: Choices) -> Evaluated:
    """What is asked of its faces, in the part's axes, as the promise counts it."""
    made = evaluated(tied, request.tolerance)
    drawing = rough.told(tied, made.drawing, turns(request.orientations), cell, choices)
    return made._replace(drawing=drawing)


def _examined(
    request: Request,
    file: PartFile,
    looked_at: tuple[LookedAt, Evaluated | None],
    limits: tuple[Cell, Choices],
    tick: Tick,
) -> Part:
    (looked, tied), (cell, choices) = looked_at, limits
    healed = looked.healed
    body, allowed = healed.shape, turns(request.orientations)
    tick.say("measuring walls", 1, 4)
    inward, outward, thickest, _ = thickness.measure(body, healed.crossed)
    tick.say("looking for ways out of loose powder", 2, 4)
    met, unpacked = unpacking(healed, inward, cell)
    tick.say("looking for what sags", 3, 4)
    findings = (
        *size(request, file, body, cell),
        *file.findings,
        *looked.moved,
        *(off_middle(tied) if tied else ()),
        *(general.told(tied.drawing, request.form) if tied else ()),
        *surface(healed),
        *fits(body, allowed, cell),
        *_thin(inward, allowed, cell, request, choices),
        gaps(outward, cell),
        *unpacked,
        *_in_the_furnace(healed, request, cell),
    )
    by_sag = choices.nesting.prefer == "sag" and not healed.open_edges
    tick.say("done", 4, 4)
    return Part(
        request=request,
        digest=file.digest,
        shape=body,
        volume_mm3=mesh.volume(body),
        area_mm2=mesh.area(body),
        extent_mm=looked.extent_mm,
        thickest_mm=thickest,
        turns=allowed,
        healed=healed.notes,
        findings=findings,
        unpacking=met,
        drawing=tied.drawing if tied else None,
        asked=tied.asked if tied else (),
        sag_mm=sags_mm(body, allowed, cell) if by_sag else None,
    )


def _sized_only(request: Request, file: PartFile, healed: Healed, cell: Cell) -> Part:
    """A body of a size that no part has; its least length stands for its thickest wall, which it bounds."""
    x, y, z = (float(size) for size in mesh.extent(healed.shape))
    allowed, sized = turns(request.orientations), size(request, file, healed.shape, cell)
    room = fits(healed.shape, allowed, cell)
    return Part(
        request=request,
        digest=file.digest,
        shape=healed.shape,
        volume_mm3=mesh.volume(healed.shape),
        area_mm2=mesh.area(healed.shape),
        extent_mm=(x, y, z),
        thickest_mm=min(x, y, z),
        turns=allowed,
        healed=healed.notes,
        findings=(*sized, *file.findings, *surface(healed), *room, *too_small(healed.shape, cell)),
    )


def _healed(body: Shape, file: PartFile) -> Healed:
    healed = heal(body)
    if not len(healed.shape.triangles):
        raise StopError(
            f"{file.name}: no surface is left once collapsed and loose triangles are dropped; export it again"
        )
    return healed


def _thin(
    inward: Across, allowed: ndarray, cell: Cell, request: Request, choices: Choices
) -> Iterator[Finding]:
    thinnest = walls(inward, allowed, cell, layer(cell, choices))
    gone = vanishing(inward, allowed, cell, request, choices)
    return once(thinnest, gone, oversize(cell.powder))


def _in_the_furnace(healed: Healed, request: Request, cell: Cell) -> tuple[Finding, ...]:
    """What sags, and how the part stands; nothing of sand, nor of a surface that encloses no volume."""
    if healed.open_edges:
        return ()
    found = (sagging(healed.shape, request, cell), standing(healed.shape, request, cell))
    return tuple(finding for finding in found if finding is not None)
