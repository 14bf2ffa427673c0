"""Green density over the box, from cups or from how much coupons shrank at their places."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.goods.box import Box
from sagger.goods.learned import BedMap
from sagger.goods.powder import Powder
from sagger.goods.reading import Reading
from sagger.statistics import field

LEAST_PLACES = 5
GRID = 9  # points along each axis at which a map is summed up


class Uniformity(NamedTuple):
    """How even a bed is, over the space that was mapped."""

    mean: float  # relative density [-]
    spread: float  # standard deviation over mean [-]
    most: float  # largest deviation from the mean, over the mean [-]
    slopes: ndarray  # float64 (3,): change over the mean from the low to the high wall along x, y, z [-]
    u: float  # standard uncertainty of the map, over the mean, on average [-]


def bed_map(
    readings: tuple[Reading, ...],
    local: dict[str, tuple[ndarray, float, int]],
    part: float,
    powder: Powder,
    box: Box,
) -> BedMap | None:
    """The map; None if fewer than five places were measured.

    Cups are taken where there are enough: readings of green density with a place. Otherwise density follows
    from shrinkage, (finished over expected length)^3, the end density taken as the same everywhere; `part` is
    the relative scatter of a length from piece to piece.
    """
    cups = [
        reading
        for reading in readings
        if (reading.kind, reading.state) == ("density", "green") and reading.at_mm is not None
    ]
    if len({reading.at_mm for reading in cups}) >= LEAST_PLACES:
        places = np.array([reading.at_mm for reading in cups], dtype=float)
        density = np.array([reading.value for reading in cups]) / powder.solid_density.value
        noise = float(np.mean([reading.u for reading in cups])) / powder.solid_density.value
        return _mapped(places, density, max(noise, 1e-6), powder, box)
    if len(local) < LEAST_PLACES:
        return None
    if powder.sintering is None:
        raise InputError(f"{powder.title} is not sintered: its bed is mapped with cups", field="readings")
    at = np.array([place for place, _, _ in local.values()])
    ratio = np.array([value for _, value, _ in local.values()])
    green, pieces = powder.sintering.green_density.value, np.mean([count for _, _, count in local.values()])
    noise = 3 * green * part / float(np.sqrt(pieces))
    return _mapped(at, green * ratio**3, max(noise, 1e-6), powder, box)


def _mapped(places: ndarray, density: ndarray, noise: float, powder: Powder, box: Box) -> BedMap:
    fitted = field.shape(places, density, _size(box), noise)
    return BedMap(
        box=box.name,
        material=powder.name,
        places_mm=places,
        density=density,
        noise=fitted.noise,
        axes=fitted.axes,
        amplitude=fitted.amplitude,
        reach_mm=fitted.reach,
        reference=float(density.mean()),
    )


def over(bed: BedMap, at_mm: ndarray) -> field.Seen:
    """Density at places (n, 3) of the box, and its standard uncertainty, relative [-]."""
    of = field.FieldModel(bed.axes, bed.amplitude, bed.reach_mm, bed.noise)
    return field.seen(bed.places_mm, bed.density, of, at_mm)


def uniformity(bed: BedMap, box: Box) -> Uniformity:
    """How even the mapped bed is between its outermost places.

    Source
    ------
    Mean, largest deviation and coefficient of variation: common practice, no source.
    """
    at = _grid(bed)
    seen = over(bed, at)
    mean = float(seen.mean.mean())
    centred = at - at.mean(axis=0)
    plane, *_ = np.linalg.lstsq(np.column_stack([np.ones(len(at)), centred]), seen.mean, rcond=None)
    return Uniformity(
        mean,
        float(seen.mean.std() / mean),
        float(np.abs(seen.mean - mean).max() / mean),
        np.where(np.ptp(at, axis=0) > 0, plane[1:] * _size(box) / mean, 0.0),
        float(np.sqrt(np.mean(seen.u**2)) / mean),
    )


def middle(bed: BedMap, box: Box) -> tuple[float, float]:
    """Relative spread of a finished length over the bed with one factor, and what is left with a map [-]."""
    even = uniformity(bed, box)
    return even.spread / 3, even.u / 3


def _grid(bed: BedMap) -> ndarray:
    low, high = bed.places_mm.min(axis=0), bed.places_mm.max(axis=0)
    along = [np.linspace(a, b, GRID) if b > a else np.array([a]) for a, b in zip(low, high, strict=True)]
    return np.stack(np.meshgrid(*along, indexing="ij"), axis=-1).reshape(-1, 3)


def _size(box: Box) -> ndarray:
    return np.array([box.length_x.value, box.length_y.value, box.length_z.value]) * 1e3
