"""A drawing with what the promise counts of it: every line as linear forms, or the reason why not."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple, TypeVar

import numpy as np
from numpy import ndarray

from sagger.goods.drawing import Datum, Dimension, Drawing, GeometricTolerance
from sagger.goods.drawn_feature import DrawnFeature
from sagger.goods.order import Tolerance
from sagger.stations.intake import size_rows, zone_rows
from sagger.stations.intake.sides import legs_mm
from sagger.stations.intake.size_rows import AskedRows
from sagger.stations.intake.tied import Tied
from sagger.stations.intake.zone_rows import Frames
from sagger.statistics import tolerance

MACHINED = "cut after sintering"
LEAST = 1e-6  # mm per unit: moved by less, a line does not depend on it
EXACT = ("theoretical", "exact", "auxiliary", "reference", "basic")
BY_TOLERANCE = "limits by the order's tolerance"
Line = TypeVar("Line", Dimension, GeometricTolerance)


class Evaluated(NamedTuple):
    """A drawing, and the characteristics that the promise counts."""

    drawing: Drawing
    asked: tuple[DrawnFeature, ...]


def evaluated(tied: Tied, general: Tolerance) -> Evaluated:
    """Every line of a drawing as characteristics, in order; `general` holds for sizes without limits."""
    drawing, frames = tied.drawing, Frames(tied)
    made: list[DrawnFeature] = []
    sizes: list[Dimension] = []
    zones: list[GeometricTolerance] = []
    for line in (_limited(size, general, tied) for size in drawing.dimensions):
        sizes.append(_told(line, _of_size(line, len(sizes) + 1, tied), made))
    for zone in drawing.tolerances:
        number = len(sizes) + len(zones) + 1
        zones.append(_told(zone, _of_zone(zone, number, (tied, frames), (sizes, made)), made))
    datums = tuple(_carries(datum, frames) for datum in drawing.datums)
    drawn = dataclasses.replace(drawing, dimensions=tuple(sizes), tolerances=tuple(zones), datums=datums)
    return Evaluated(drawn, tuple(made))


def _told(line: Line, rows: list[DrawnFeature] | str, made: list[DrawnFeature]) -> Line:
    """The line with whether it is evaluated, and what would use its tolerance up alone."""
    if isinstance(rows, str):
        return dataclasses.replace(line, evaluated=False, why=rows)
    made += rows
    levers = [(_lever(one, "points"), _lever(one, "normals")) for one in rows]
    length, edge = (max(values) for values in zip(*levers, strict=True))
    half = _half(line)
    return dataclasses.replace(
        line,
        evaluated=True,
        why="",
        length_needed=half / length if length > LEAST else None,
        edge_needed_mm=half / edge if edge > LEAST else None,
    )


def _half(line: Dimension | GeometricTolerance) -> float:
    if isinstance(line, GeometricTolerance):
        return line.width_mm / 2
    return ((line.upper or 0.0) - (line.lower or 0.0)) / 2


def _lever(of: DrawnFeature, moved: str) -> float:
    """How far it goes, each way at most: where all lengths grow by themselves, or all faces move by 1 mm."""
    by = of.points if moved == "points" else of.normals
    values: ndarray = of.weights @ np.einsum("nc,nc->n", of.normals, by)
    if of.rule == zone_rows.RANGE:
        return float(np.ptp(values)) / 2
    if of.rule == zone_rows.ROUND:
        return float(np.linalg.norm(values.reshape(-1, 2), axis=1).max())
    return float(np.abs(values).max())


def _limited(size: Dimension, general: Tolerance, tied: Tied) -> Dimension:
    """A size without limits of its own has those of the order's tolerance, but not one that is exact."""
    noted = any(word in note.lower() for note in size.notes for word in EXACT)
    if size.lower is not None or size.nominal is None or size.fit or noted:
        return size
    half = _half_general(size, size.nominal, general, tied)
    if half is None:
        return size
    notes = (*size.notes, BY_TOLERANCE)
    return dataclasses.replace(size, lower=size.nominal - half, upper=size.nominal + half, notes=notes)


def _half_general(size: Dimension, nominal: float, general: Tolerance, tied: Tied) -> float | None:
    """An angle goes by its shorter side, a radius of an outside edge by the table of broken edges."""
    if size.unit != "mm":
        ends = (*size.faces, *size.to)[:2]
        planes = [face.number for face in tied.drawing.faces if face.kind == "plane" and face.number in ends]
        sides = min(legs_mm(planes[0], planes[1], tied)) if len(planes) == 2 else 0.0
        return tolerance.band(sides, general.angles)
    on = next((face for face in tied.drawing.faces if face.number in size.faces), None)
    if size.kind == "radius" and on is not None and on.outward and general.edges:
        return tolerance.band(nominal, general.edges)
    return tolerance.half_width_mm(nominal, general)


def _of_size(size: Dimension, number: int, tied: Tied) -> list[DrawnFeature] | str:
    if size.machined_mm is not None:
        return MACHINED
    if size.lower is None or size.upper is None:
        return f"limits of {size.fit} are not in the tables" if size.fit else "no limits"
    rows = size_rows.rows(size, tied)
    if isinstance(rows, str):
        return rows
    nominal = (size.lower + size.upper) / 2 if size.nominal is None else size.nominal
    ends = (nominal, size.lower, size.upper)
    return [_made(asked, number, ends, size.unit) for asked in rows]


def _of_zone(
    zone: GeometricTolerance,
    number: int,
    where: tuple[Tied, Frames],
    known: tuple[list[Dimension], list[DrawnFeature]],
) -> list[DrawnFeature] | str:
    if zone.machined_mm is not None:
        return MACHINED
    rows = zone_rows.rows(zone, *where)
    if isinstance(rows, str):
        return rows
    made = [_made(asked, number, (0.0, 0.0, zone.width_mm), "mm") for asked in rows]
    return [_with_bonus(zone, one, *known) for one in made]


def _made(asked: AskedRows, number: int, ends: tuple[float, float, float], unit: str) -> DrawnFeature:
    nominal, lower, upper = ends
    return DrawnFeature(
        line=number,
        rule=asked.rule,
        operator=asked.operator,
        nominal=nominal,
        lower=lower,
        upper=upper,
        unit=unit,
        points=asked.form.points,
        normals=asked.form.normals,
        faces=asked.form.faces.astype(np.int64),
        weights=asked.form.weights,
    )


def _with_bonus(
    zone: GeometricTolerance, one: DrawnFeature, sizes: list[Dimension], made: list[DrawnFeature]
) -> DrawnFeature:
    """More room by the size of the very feature, where the drawing says so and limits that size."""
    bonus = next((word for word in zone.modifiers if word in zone_rows.BONUSES), "")
    own = int(one.faces[0])
    fitting = (at for at, size in enumerate(made)
               if sizes[size.line - 1].kind == "diameter" and own in size.faces)  # fmt: skip
    at = next(fitting, None) if bonus else None
    if at is None:
        return one
    bore = float((made[at].weights.sum(axis=1)).mean()) < 0  # its size falls as its face moves outward
    grows = bore == (bonus == zone_rows.BONUSES[0])
    return dataclasses.replace(one, bonus=at, bonus_sign=1 if grows else -1)


def _carries(datum: Datum, frames: Frames) -> Datum:
    known = frames.of((datum.name,)) is not None
    why = "" if known else "it is no plane, bore or pin"
    return dataclasses.replace(datum, evaluated=known, why=why)
