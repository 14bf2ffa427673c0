"""A packed box as a grid of voxels that store and pass on heat. All SI, temperatures in kelvin."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sagger.errors import LawError

Array = NDArray[np.float64]
SIDES = ("x low", "x high", "y low", "y high", "z low", "z high")
LIGHTEST = 1e4  # [J/(m3 K)]; air holds some 1.2e3, and as a voxel it would cost hundreds of time steps


class Material(NamedTuple):
    conductivity: float  # [W/(m K)]
    volume_heat: float  # heat capacity per volume [J/(m3 K)]


class BoxWall(NamedTuple):
    """A plate around the powder: a side of the box, its base plate, a board of insulation."""

    thickness: float  # [m]
    material: Material


class Face(NamedTuple):
    """What one face of the box meets."""

    film: float  # heat transfer coefficient [W/(m2 K)]; 0 = insulated, inf = at the ambient's temperature
    ambient: float | None = None  # [K]; None = the oven, as its programme says
    wall: BoxWall | None = None


class HeatedBed(NamedTuple):
    """What lies inside the walls."""

    parts: Array  # share of each voxel that is printed, 0 to 1, shape (nx, ny, nz)
    widths: tuple[Array, Array, Array]  # of the voxels along each axis [m], may be uneven
    powder: Material
    part: Material
    start: float  # temperature of bed and walls when it is put in the oven [K]


class HeatGrid(NamedTuple):
    """Heat capacities and conductances of voxels, walls included."""

    capacity: Array  # [J/K], shape (nx, ny, nz)
    between: tuple[Array, Array, Array]  # neighbours along each axis [W/K], one fewer along that axis
    outward: tuple[tuple[Array, Array], ...]  # low and high face of each axis to its ambient [W/K]
    inside: tuple[slice, slice, slice]  # the bed among the voxels


def grid(bed: HeatedBed, faces: tuple[Face, ...]) -> HeatGrid:
    """The box as heat capacities and conductances.

    Parameters
    ----------
    bed : Bed
    faces : 6 Face
        x low, x high, y low, y high, z low, z high. A wall becomes one layer of voxels of its thickness,
        so that heat also runs along it and around the edges. An air gap holds no heat worth counting:
        put it into the film, 1 / (1/film + gap/conductivity).

    Raises
    ------
    LawError
        If shapes do not match, a share lies outside 0 to 1, or a property or width is not above 0.

    Source
    ------
    Patankar, Numerical Heat Transfer and Fluid Flow, section 4.2-3 (from memory): conductance between
    voxels is that of two half voxels in series. A voxel that is part powder and part piece takes the
    geometric mean of both conductivities, which lies between the bounds of layers along and across.
    """
    _check(bed, faces)
    powder, part = bed.powder, bed.part
    conductivity = powder.conductivity * (part.conductivity / powder.conductivity) ** bed.parts
    volume_heat = powder.volume_heat + (part.volume_heat - powder.volume_heat) * bed.parts
    widths = list(bed.widths)
    inside = []
    for axis in range(3):
        walls = faces[2 * axis].wall, faces[2 * axis + 1].wall
        conductivity = _plated(conductivity, axis, [wall and wall.material.conductivity for wall in walls])
        volume_heat = _plated(volume_heat, axis, [wall and wall.material.volume_heat for wall in walls])
        widths[axis] = _plated(widths[axis], 0, [wall and wall.thickness for wall in walls])
        first = int(walls[0] is not None)
        inside.append(slice(first, first + bed.parts.shape[axis]))
    films = [face.film for face in faces]
    x, y, z = widths
    return HeatGrid(
        capacity=volume_heat * x[:, None, None] * y[:, None] * z,
        between=_between(conductivity, (x, y, z)),
        outward=_outward(conductivity, (x, y, z), films),
        inside=(inside[0], inside[1], inside[2]),
    )


def middles(widths: Array) -> Array:
    """Places of the voxels' middles along one axis, from the low end of the bed [m]."""
    return np.asarray(np.cumsum(widths) - widths / 2)


def voxel_at(bed: HeatedBed, place: tuple[float, float, float]) -> tuple[int, int, int]:
    """Indices of the voxel that holds a place given from the low corner of the bed [m].

    Raises
    ------
    LawError
        If the place lies outside.
    """
    size = tuple(float(widths.sum()) for widths in bed.widths)
    if any(not 0 <= at <= length for at, length in zip(place, size, strict=True)):
        raise LawError(f"the place {place} m lies outside a bed of {size} m")
    voxel = [
        min(int(np.searchsorted(np.cumsum(widths), at, side="right")), len(widths) - 1)
        for widths, at in zip(bed.widths, place, strict=True)
    ]
    return voxel[0], voxel[1], voxel[2]


def _plated(inner: Array, axis: int, plates: list[float | None]) -> Array:
    """`inner` with one more layer of a constant at each end of an axis, where there is a wall."""
    shape = tuple(1 if along == axis else size for along, size in enumerate(inner.shape))
    low, high = [[np.full(shape, plate)] if plate is not None else [] for plate in plates]
    return np.concatenate([*low, inner, *high], axis=axis)


def _areas(widths: tuple[Array, Array, Array]) -> tuple[Array, Array, Array]:
    x, y, z = widths
    return y[:, None] * z, x[:, None] * z, x[:, None] * y


def _half(conductivity: Array, widths: Array, axis: int) -> Array:
    """Resistance from the middle of each voxel to its face, with `axis` moved to the front [m2 K/W]."""
    return np.asarray(widths[:, None, None] / 2 / np.moveaxis(conductivity, axis, 0))


def _between(conductivity: Array, widths: tuple[Array, Array, Array]) -> tuple[Array, Array, Array]:
    couplings = []
    for axis, area in enumerate(_areas(widths)):
        half = _half(conductivity, widths[axis], axis)
        couplings.append(np.ascontiguousarray(np.moveaxis(area / (half[:-1] + half[1:]), 0, axis)))
    return couplings[0], couplings[1], couplings[2]


def _outward(
    conductivity: Array, widths: tuple[Array, Array, Array], films: list[float]
) -> tuple[tuple[Array, Array], ...]:
    couplings = []
    for axis, area in enumerate(_areas(widths)):
        half = _half(conductivity, widths[axis], axis)
        low, high = (
            area / (1 / film + depth) if film > 0 else np.zeros_like(area)
            for film, depth in zip(films[2 * axis : 2 * axis + 2], (half[0], half[-1]), strict=True)
        )
        couplings.append((low, high))
    return tuple(couplings)


def _check(bed: HeatedBed, faces: tuple[Face, ...]) -> None:
    shape = tuple(len(widths) for widths in bed.widths)
    if bed.parts.shape != shape or 0 in shape:
        raise LawError(
            f"part shares have the shape {bed.parts.shape}, the voxel widths {shape}; both must agree"
        )
    if not (bed.parts.min() >= 0 and bed.parts.max() <= 1):
        low, high = bed.parts.min(), bed.parts.max()
        raise LawError(f"part shares must lie between 0 and 1, got {low:g} to {high:g}")
    if any(not widths.min() > 0 for widths in bed.widths):
        raise LawError("every voxel must be wider than 0 m; check the box and its voxels")
    if len(faces) != len(SIDES):
        raise LawError(f"a box has six faces, got {len(faces)}; give {', '.join(SIDES)}")
    for side, face in zip(SIDES, faces, strict=True):
        if not face.film >= 0:
            raise LawError(f"film at face {side} must be 0 or above, got {face.film:g} W/(m2 K)")
        if face.wall is not None and not face.wall.thickness > 0:
            raise LawError(f"wall at face {side} must be thicker than 0 m, got {face.wall.thickness:g} m")
    _check_materials(bed, faces)


def _check_materials(bed: HeatedBed, faces: tuple[Face, ...]) -> None:
    materials = {"powder": bed.powder, "part": bed.part}
    materials |= {
        f"wall {side}": face.wall.material for side, face in zip(SIDES, faces, strict=True) if face.wall
    }
    for name, material in materials.items():
        if not 0 < material.conductivity < inf:
            raise LawError(
                f"conductivity of {name} must be a number above 0, got {material.conductivity:g} W/(m K)"
            )
        if not LIGHTEST <= material.volume_heat < inf:
            what = f"heat capacity of {name} must be a number from {LIGHTEST:g} J/(m3 K) up"
            raise LawError(f"{what}, got {material.volume_heat:g}; an air gap belongs into the film")
