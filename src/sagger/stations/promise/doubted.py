"""A part with all that its sizes depend on, brought together."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.green import Green
from sagger.goods.order import Choices
from sagger.stations.promise import drawn_doubt, drawn_rows, edges_doubt, lengths_doubt
from sagger.stations.promise.drawn_rows import DrawnRows
from sagger.stations.promise.edges_doubt import Ends, SizeLengths
from sagger.stations.promise.lengths_doubt import Furnished, SizeSpans
from sagger.stations.promise.source import Doubted, Lying, Room, padded
from sagger.statistics.tolerance import half_width_mm


def room(green: Green) -> Room:
    """The overall sizes of a part that have a tolerance."""
    tolerance, extent = green.part.request.tolerance, green.part.extent_mm
    halves = [half_width_mm(float(size), tolerance) for size in extent]
    index = np.array([axis for axis, half in enumerate(halves) if half is not None], dtype=np.int64)
    nominal = np.array([float(extent[axis]) for axis in index])
    half = np.array([half for half in halves if half is not None], dtype=float)
    return Room(tuple("xyz"[axis] for axis in index), index, nominal, nominal - half, nominal + half)


def doubted(part: int, green: Green, of: Furnished, choices: Choices) -> Doubted:
    """What is expected of a part's sizes in each orientation that its pieces lie in, and every doubt."""
    turns = [piece.turn for build in of.builds for piece in build.layout.pieces if piece.part == part]
    asked = room(green)

    def lying(turn: int, share: float = 1.0) -> Lying:
        return lies(turn, share, (green, asked), of, choices)

    taken = sorted(set(turns))
    seen = {tuple(machine_axes(green, turn, asked.axes)): turn for turn in taken}
    for turn in range(len(green.part.turns)):
        seen.setdefault(tuple(machine_axes(green, turn, asked.axes)), turn)
    return Doubted(
        part=part,
        room=asked,
        lying=tuple(lying(turn, turns.count(turn) / len(turns)) for turn in taken),
        gauge=gauge_mm(of),
        drawn=drawn_rows.lines(green, asked),
        others=tuple(lying(turn) for turn in seen.values() if turn not in taken),
    )


def lies(turn: int, share: float, of_part: tuple[Green, Room], of: Furnished, choices: Choices) -> Lying:
    """The pieces of a part that lie in one orientation."""
    green, asked = of_part
    axes = machine_axes(green, turn, asked.axes)
    ends = Ends(green, SizeLengths(axes, asked.nominal), asked.axes, turn, of.drops)
    drawn, ratio, known = DrawnRows(green, turn, ends.stack), lengths_doubt.ratio(of), by_factors(of)
    spans = np.concatenate([asked.nominal[:, None] * np.eye(3)[axes], drawn.spans])
    sizes, rows = len(axes), len(drawn.spans)
    groups = (*(slice(row, row + 1) for row in range(sizes)), *drawn.groups(sizes))
    sources = (
        *lengths_doubt.lengths(of, SizeSpans(spans * ratio, groups)),
        *(padded(one, 0, rows) for one in edges_doubt.edges(ends, of.cell.powder, choices, known)),
        *(padded(one, sizes, 0) for one in drawn_doubt.edges(drawn, of.cell.powder, choices, known)),
    )
    stretched = spans @ (ratio - 1)
    nominal = np.concatenate([asked.nominal, drawn.nominal])
    shifts = np.concatenate([edges_doubt.shifts(ends), drawn_doubt.shifts(drawn)])
    sagged = None
    if green.sag is None and edges_doubt.beam_sag(green):
        sagged = np.concatenate([edges_doubt.sagged(ends), drawn_doubt.sagged(drawn)])
    expected = nominal + stretched + shifts + _redrawn(green, asked, len(nominal))
    return Lying(turn, share, expected, stretched, sources, edges_doubt.bow(ends), rows, sagged)


def _redrawn(green: Green, asked: Room, count: int) -> ndarray:
    """How far overall sizes are drawn off their nominal, where faces of the part were moved [mm]."""
    off = np.zeros(count)
    wide = np.ptp(green.part.shape.vertices, axis=0)
    if green.part.drawing is not None and any(size.offset_mm for size in green.part.drawing.dimensions):
        off[: len(asked.axes)] = wide[asked.axes] - asked.nominal
    return off


def by_factors(of: Furnished) -> bool:
    """Whether scatter was measured here: that of a part holds drops and edges of the coupons."""
    return of.sintered is not None and of.approved.scatter is not None and of.factors.origin != "card"


def machine_axes(green: Green, turn: int, index: ndarray) -> ndarray:
    """Axis of the machine that each of a part's axes lies along, int64."""
    return np.asarray(np.argmax(np.abs(green.part.turns[turn][:, index]), axis=0))


def gauge_mm(of: Furnished) -> float:
    """Standard uncertainty of a reading: as studied here, else of the shop's card [mm]."""
    if of.approved.scatter is not None and of.approved.scatter.gauge_mm:
        return of.approved.scatter.gauge_mm
    gauge = of.cell.shop.gauge
    return gauge.value * 1e3 if gauge is not None else 0.0
