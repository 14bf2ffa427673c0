"""What goes into the oven: pieces, loose powder, walls and base plate, and what each face meets."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.constants import atm

from sagger.geometry.cells.voxels import filled
from sagger.goods.binder import Binder
from sagger.goods.box import Box, Plate
from sagger.goods.cured import CuredSpot
from sagger.goods.dose import Dose
from sagger.goods.figure import Figure
from sagger.goods.layout import Layout, Piece
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder
from sagger.physics.heat.bed_conductivity import BedGrains, Gas, bed_conductivity
from sagger.physics.heat.box_heat_grid import BoxWall, Face, HeatedBed, Material
from sagger.physics.powder import grains

TRUSTED = ("read", "measured")  # a bed conductivity so known stands before the law
NOBODY = -1
FEWEST = 1 / 3  # voxels along a short side over those along the longest
TRACE = 1e-3  # share of a voxel that a piece too thin for the lines still gets


class Conductivity(NamedTuple):
    """Of loose powder."""

    value: float  # [W/(m K)]
    u: float
    origin: str  # "card" or "law"


class Voxels(NamedTuple):
    """The nest on a lattice."""

    shares: ndarray  # float64 (nx, ny, nz): printed share, 0 to 1
    owner: ndarray  # int32 (nx, ny, nz): which piece of the layout fills most of it, NOBODY for powder
    widths: tuple[ndarray, ndarray, ndarray]  # of the voxels [m]


def conductivity(powder: Powder, packing: float, oven: Oven, hot: float) -> Conductivity:
    """How loose powder conducts: the card's figure if it was measured or read, else the law for packed beds.

    Source
    ------
    `heat.bed_conductivity`, at the mean of start and set point. Relative uncertainty as on the card, whose
    range covers law and measurement.
    """
    card, gas = powder.bed_conductivity, oven.gas
    if card.standing in TRUSTED or gas is None or powder.emissivity is None:
        return Conductivity(card.value, card.u, "card")
    by_law = bed_conductivity(
        packing,
        BedGrains(
            powder.solid_conductivity.value,
            grains.lognormal(powder.d10.value, powder.d90.value, powder.d50.value).sauter,
            powder.emissivity.value,
        ),
        Gas(gas.conductivity.value, gas.molar_mass.value, gas.heat_capacity.value),
        (oven.ambient.value + hot) / 2,
        atm,
    )
    return Conductivity(by_law, by_law * card.u / card.value, "law")


def materials(
    bed: Conductivity, layout: Layout, dose: Dose, powder: Powder, binder: Binder
) -> tuple[Material, Material]:
    """Loose powder and printed pieces; the liquid that drying left warms with the pieces."""
    grain_heat = dose.packing * powder.solid_density.value * powder.heat_capacity.value
    loose = Material(bed.value, grain_heat)
    if not layout.pieces:
        return loose, loose
    own = powder.green_conductivity.value if powder.green_conductivity else bed.value
    solids = binder.solids.value
    left = solids + (1 - solids) * (1 - binder.dried_share.value)
    liquid = 0.0
    if binder.heat_capacity and layout.volume_mm3 > 0:
        liquid = dose.binder_mass / (layout.volume_mm3 * 1e-9) * left * binder.heat_capacity.value
    return loose, Material(own, grain_heat + liquid)


def faces(box: Box, oven: Oven) -> tuple[Face, ...]:
    """What x low, x high, y low, y high, bottom and top of the box meet; the top is open powder."""
    own = oven.faces
    names = ("x_low", "x_high", "y_low", "y_high", "bottom", "top")
    films: list[Figure] = [(own and getattr(own, name)) or oven.heat_transfer for name in names]
    side, base = _wall(box.wall), _wall(box.base)
    walls = (side, side, side, side, base, None)
    return tuple(Face(film.value, wall=wall) for film, wall in zip(films, walls, strict=True))


def sides(layout: Layout) -> tuple[float, float, float]:
    """Size of the bed as filled [m]: powder to just above the highest piece."""
    box = layout.box
    height = min(layout.height_mm * 1e-3 + box.floor_gap.value, box.length_z.value)
    return box.length_x.value, box.length_y.value, height


def outer(box: Box) -> tuple[float, float, float]:
    """Size of the box with walls and base plate [m]."""
    wall = box.wall.thickness.value if box.wall else 0.0
    base = box.base.thickness.value if box.base else 0.0
    return box.length_x.value + 2 * wall, box.length_y.value + 2 * wall, box.length_z.value + base


def voxels(layout: Layout, longest: int) -> Voxels:
    """The nest on a lattice with about `longest` voxels along the longest side.

    Counts are odd, so that a voxel lies in the middle. A layout without pieces is printed all through: what
    is then computed is the core of the bed.
    """
    along = widths(sides(layout), longest)
    shape = len(along[0]), len(along[1]), len(along[2])
    pitch = tuple(1e3 * float(each[0]) for each in along)
    shares, owner = np.zeros(shape), np.full(shape, NOBODY, np.int32)
    most = np.zeros(shape)
    for number, piece in enumerate(layout.pieces):
        _add(layout, piece, (pitch[0], pitch[1], pitch[2]), (shares, most, owner), number)
    if not layout.pieces:
        shares[:] = 1.0
    return Voxels(np.minimum(shares, 1.0), owner, along)


def least(layout: Layout, seen: Voxels, field: ndarray) -> ndarray:
    """Lowest value of a field (nx, ny, nz) in the voxels of each piece, float64 (pieces,).

    A piece that fills most of no voxel takes the value in its middle.
    """
    lowest = np.full(len(layout.pieces), np.inf)
    mine = seen.owner != NOBODY
    np.minimum.at(lowest, seen.owner[mine], field[mine])
    for number in np.flatnonzero(np.isinf(lowest)):
        piece = layout.pieces[number]
        vertices = layout.greens[piece.part].shape.vertices
        middle = (vertices.min(axis=0) + vertices.max(axis=0)) / 2
        at = (piece.placement[:3, :3] @ middle + piece.placement[:3, 3]) * 1e-3
        spot = [min(int(place / each[0]), len(each) - 1) for place, each in zip(at, seen.widths, strict=True)]
        lowest[number] = field[tuple(spot)]
    return lowest


def widths(size: tuple[float, float, float], longest: int) -> tuple[ndarray, ndarray, ndarray]:
    """Even voxels along each side [m], an odd number of them, about `longest` along the longest.

    A short side has a third as many at least, so that a flat bed is refined along its height too.
    """
    counts = [2 * round((longest * max(side / max(size), FEWEST) - 1) / 2) + 1 for side in size]
    x, y, z = (np.full(count, side / count) for side, count in zip(size, counts, strict=True))
    return x, y, z


def bed(seen: Voxels, loose: Material, piece: Material, start: float) -> HeatedBed:
    """The voxels as the solver takes them."""
    return HeatedBed(seen.shares, seen.widths, loose, piece, start)


def spot(layout: Layout, seen: Voxels, voxel: tuple[int, int, int]) -> CuredSpot | None:
    """Whose piece fills most of a voxel, and where that is; None if nobody's."""
    who = int(seen.owner[voxel])
    if who == NOBODY:
        return None
    x, y, z = (
        1e3 * float(along[:at].sum() + along[at] / 2) for at, along in zip(voxel, seen.widths, strict=True)
    )
    piece = layout.pieces[who]
    return CuredSpot(part=piece.part, number=piece.number, at_mm=(x, y, z))


def _wall(plate: Plate | None) -> BoxWall | None:
    if plate is None:
        return None
    heat = plate.density.value * plate.heat_capacity.value
    return BoxWall(plate.thickness.value, Material(plate.conductivity.value, heat))


def _add(
    layout: Layout,
    piece: Piece,
    pitch_mm: tuple[float, float, float],
    fields: tuple[ndarray, ndarray, ndarray],
    number: int,
) -> None:
    """Add one piece to the shares; where it fills more than any before it, the voxel is its own."""
    shares, most, owner = fields
    shape = layout.greens[piece.part].shape
    placed = shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
    corners = placed[shape.triangles]
    if np.linalg.det(piece.placement[:3, :3]) < 0:
        corners = corners[:, ::-1]
    covered = filled(corners, pitch_mm, (shares.shape[0], shares.shape[1], shares.shape[2]))
    here = covered.shares
    if not here.any():  # thinner than the lines through a voxel
        here[tuple(n // 2 for n in here.shape)] = TRACE
    window = tuple(slice(a, a + n) for a, n in zip(covered.first, here.shape, strict=True))
    shares[window] += here
    larger = here > most[window]
    most[window][larger], owner[window][larger] = here[larger], number
