"""Readings along one machine axis beside what was printed, and what their groups say of scatter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.goods.learned import Scatter
from sagger.goods.reading import Reading
from sagger.statistics import mixed

LEAST_PIECES = 3  # a factor is never learnt from one part, and two say nothing of each other
MOST = 400  # lengths along an axis that are looked at, the newest


class Lengths(NamedTuple):
    """Readings along one axis, beside what was printed [mm]."""

    readings: tuple[Reading, ...]
    drawn: ndarray
    finished: ndarray
    bed: tuple[str, ...]


def along(readings: Sequence[Reading], drawn_mm: ndarray, axis: str) -> Lengths:
    picked = [
        (reading, drawn)
        for reading, drawn in zip(readings, drawn_mm.tolist(), strict=True)
        if (reading.kind, reading.state, reading.axis) == ("length", "sintered", axis) and drawn > 0
    ][-MOST:]
    pieces = {(reading.box, reading.piece) for reading, _ in picked}
    if len(pieces) < LEAST_PIECES:
        raise InputError(
            f"factors need {LEAST_PIECES} pieces with a sintered length along {axis} at least",
            field=axis,
            value=len(pieces),
            remedy="Measure more coupons; one part says nothing of the next.",
        )
    mine = tuple(reading for reading, _ in picked)
    return Lengths(
        mine,
        np.array([drawn for _, drawn in picked]),
        np.array([reading.value * 1e3 for reading in mine]),
        tuple(place_of(reading) for reading in mine),
    )


def place_of(reading: Reading) -> str:
    """Name of the place in the bed: a coupon's label says it, else the nearest of a grid of 40 mm."""
    label = reading.part if "-" in reading.part else reading.piece
    if reading.coupon and "-" in label:
        return label.rpartition("-")[2]
    if reading.at_mm is None:
        return "unknown"
    return " ".join(f"{round(at / 40)}" for at in reading.at_mm)


def scatter_of(material: str, sets: list[Lengths], fits: list[mixed.VarianceParts]) -> Scatter:
    """Relative scatter by where it comes from, the mean of the three axes."""
    gauge = float(np.mean([reading.u for one in sets for reading in one.readings])) * 1e3
    typical = float(np.mean([one.drawn.mean() * fit.values[0] for one, fit in zip(sets, fits, strict=True)]))

    def of(name: str) -> float:
        return math.sqrt(float(np.mean([fit.variance.get(name, 0.0) / fit.values[0] ** 2 for fit in fits])))

    groups = {
        "lots": {reading.lot for one in sets for reading in one.readings},
        "beds": {place for one in sets for place in one.bed},
        "furnaces": {f"{reading.furnace} {reading.place}" for one in sets for reading in one.readings},
    }
    return Scatter(
        material=material,
        lot=of("lot"),
        bed=of("bed place"),
        furnace=of("furnace place"),
        part=math.sqrt(of("piece") ** 2 + max(of("rest") ** 2 - (gauge / typical) ** 2, 0.0)),
        gauge_mm=gauge,
        readings=sum(len(one.readings) for one in sets),
        origin="readings",
        **{name: len(found) for name, found in groups.items()},
    )


def local(sets: list[Lengths], fits: list[mixed.VarianceParts]) -> dict[str, tuple[ndarray, float, int]]:
    """By place of the bed: where it is, finished over expected length there, and from how many pieces.

    Lot and furnace place are taken out first; what is left of a place is its own.
    """
    lengths: dict[str, list[tuple[ndarray, float]]] = {}
    pieces: dict[str, set[tuple[str, str]]] = {}
    for one, fit in zip(sets, fits, strict=True):
        offset = fit.values[1] / one.drawn if len(fit.values) > 1 else 0.0
        own = one.finished / one.drawn - offset
        for reading, value, bed in zip(one.readings, own.tolist(), one.bed, strict=True):
            lot = fit.levels.get("lot", {}).get(reading.lot, 0.0)
            furnace = fit.levels.get("furnace place", {}).get(f"{reading.furnace} {reading.place}", 0.0)
            if reading.at_mm is not None:
                at = np.array(reading.at_mm)
                pieces.setdefault(bed, set()).add((reading.box, reading.piece))
                lengths.setdefault(bed, []).append((at, (value - lot - furnace) / float(fit.values[0])))
    return {
        bed: (
            np.mean([at for at, _ in rows], axis=0),
            float(np.mean([value for _, value in rows])),
            len(pieces[bed]),
        )
        for bed, rows in lengths.items()
    }
