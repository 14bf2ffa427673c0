"""What moves the ends of a size, however long it is: sag, bleed, drops, layers and their steps."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.spatial import ConvexHull

from sagger.goods.figure import Figure
from sagger.goods.green import Green
from sagger.goods.order import Choices
from sagger.goods.powder import Powder, Sintering
from sagger.goods.stack import DropRaster, Stack
from sagger.stations.promise.source import LOT, PIECE, SHOP, DoubtSource, even, normal, of_two
from sagger.statistics import chance

LATTICE, SAG, STEPS, BLEED, EDGE = "drop lattice", "sag", "layer steps", "bleed", "edge"
UP = 2  # the machine's and the furnace's vertical axis
OUTSIDE = 2  # an overall size has two edges, and both move out


class SizeLengths(NamedTuple):
    """Overall sizes along machine axes; arrays over sizes."""

    axis: ndarray  # int64: machine axis of each size
    nominal: ndarray  # float64 [mm]


class Ends(NamedTuple):
    """How the ends of sizes are made."""

    green: Green
    sizes: SizeLengths
    part_axis: ndarray  # int64 (sizes,): of the part as filed
    turn: int
    stack: Stack | DropRaster


def shifts(ends: Ends) -> ndarray:
    """How far the middle of each size lies off by what is known of its ends, float64 (sizes,) [mm]."""
    sunk, left = _sunk(ends), _stepped(ends)
    return np.asarray(sunk.middle + _rounded(ends) - left / 2)


def sagged(ends: Ends) -> ndarray:
    """What of that is sag, float64 (sizes,) [mm]."""
    return _sunk(ends).middle


def edges(ends: Ends, powder: Powder, choices: Choices, measured: bool) -> Iterator[DoubtSource]:
    """Every source that does not grow with the size; with `measured` scatter those that it holds are left."""
    yield from _sags(ends, powder)
    yield from _bleeds(ends, powder)
    if not measured:
        yield from _scatters(ends, powder)
        yield from _lattice(ends, choices)
    left = _stepped(ends)
    if np.any(left):
        yield DoubtSource(STEPS, f"{STEPS} {ends.turn}", SHOP, chance.rectangular(1.0) * left / 2, even)


class Sunk(NamedTuple):
    """What sagging does to sizes; arrays float64 (sizes,) [mm]."""

    middle: ndarray  # expected
    half: ndarray  # it lies within so much of the middle, anywhere
    whole: ndarray  # what the furnace law moves: its doubt is in proportion to this


def _sunk(ends: Ends) -> Sunk:
    """By finite elements where the job has them, else by the beam rule: from nothing to all that it tells."""
    none = np.zeros(len(ends.part_axis))
    sag = ends.green.sag
    if sag is not None and sag.finished is not None:
        surface, nominal = sag.finished.surface.vertices, sag.finished.nominal
        off = (np.ptp(surface, axis=0) - np.ptp(nominal, axis=0))[ends.part_axis]
        before = none if sag.untreated_mm is None else np.ptp(nominal + sag.untreated_mm, axis=0)
        whole = off if sag.untreated_mm is None else (before - np.ptp(nominal, axis=0))[ends.part_axis]
        return Sunk(off, none, np.abs(whole))
    low = np.where(ends.part_axis == UP, beam_sag(ends.green), 0.0)
    return Sunk(-low / 2, low / 2, low / 2)


def bow(ends: Ends) -> float:
    """How deep the part is foretold to sag at most [mm]."""
    sunk = _sunk(ends)
    return float(np.max(np.maximum(2 * sunk.half, sunk.whole), initial=0.0))


def beam_sag(green: Green) -> float:
    """Sag by the beam rule [mm], 0 where none is told; what gives way may lose all its height."""
    sagging = next((finding for finding in green.part.findings if finding.what == SAG), None)
    if sagging is None:
        return 0.0
    gone = sagging.value is None and sagging.level != "ok"
    return float(green.part.extent_mm[UP]) if gone else float(sagging.value or 0.0)


def _sags(ends: Ends, powder: Powder) -> Iterator[DoubtSource]:
    """Where on the part it sags is half known; how much by the figures of the law that it rests on."""
    sunk, card = _sunk(ends), powder.sintering
    if card is None or not np.any(sunk.half + sunk.whole):
        return
    if np.any(sunk.half):
        key = f"{SAG} {ends.green.part.digest}"
        yield DoubtSource(SAG, key, SHOP, chance.rectangular(1.0) * sunk.half, even)
    yield DoubtSource(SAG, "sag law", SHOP, sag_law(card) * sunk.whole)


def sag_law(card: Sintering) -> float:
    """Relative standard uncertainty of a sag by the figures of the law that it rests on."""
    return chance.combined([_relative(card.capillary_radius), _relative(card.surface_energy)])


def _relative(figure: Figure) -> float:
    return figure.u / figure.value if figure.value else 0.0


def _bleeds(ends: Ends, powder: Powder) -> Iterator[DoubtSource]:
    """Binder beyond outlines moves both ends of a size across the bed, and the underside of one along z."""
    upright = ends.sizes.axis == UP
    k = ends.green.factors.k[ends.sizes.axis]
    across = creep(powder.bleed, powder.bleed_doubt)
    below = creep(powder.bleed_depth, powder.bleed_doubt)
    if across or below:
        yield DoubtSource(BLEED, BLEED, LOT, np.where(upright, 0.0, OUTSIDE * across) / k)
        yield DoubtSource(BLEED, "soaking", LOT, np.where(upright, below, 0.0) / k)


def _scatters(ends: Ends, powder: Powder) -> Iterator[DoubtSource]:
    """Each end lies a little elsewhere on each piece."""
    if powder.edge_scatter is None:
        return
    k, scatter = ends.green.factors.k[ends.sizes.axis], powder.edge_scatter.value
    for row in range(len(k)):
        lever = np.zeros(len(k))
        lever[row] = math.sqrt(OUTSIDE) * scatter * 1e3 / k[row]
        yield DoubtSource(EDGE, f"{EDGE} {row}", PIECE, lever)


def creep(measured: Figure | None, unmeasured: Figure | None) -> float:
    """Standard uncertainty of how far binder creeps [mm]: of the measured figure, else as for want of one."""
    if measured is not None and measured.u:
        return measured.u * 1e3
    return unmeasured.value * 1e3 if unmeasured is not None else 0.0


def _green_mm(ends: Ends) -> ndarray:
    return np.asarray(ends.sizes.nominal * ends.green.factors.k[ends.sizes.axis])


def _step_mm(ends: Ends) -> ndarray:
    return np.asarray(np.array([*ends.stack.pitch_mm, ends.stack.layer_mm])[ends.sizes.axis])


def _rounded(ends: Ends) -> ndarray:
    """Pieces stand between two layers: a height is a whole number of layers, the same one for all [mm]."""
    green, step = _green_mm(ends), _step_mm(ends)
    off = (np.round(green / step) * step - green) / ends.green.factors.k[ends.sizes.axis]
    return np.asarray(np.where(ends.sizes.axis == UP, off, 0.0))


def _lattice(ends: Ends, choices: Choices) -> Iterator[DoubtSource]:
    """A size across the bed is a whole number of drops, or one more, with the mean exactly the size.

    Source
    ------
    Standard deviation p sqrt(f (1 - f)), f the share of a drop that is left over; rms over f is p / sqrt(6).
    """
    if choices.snap:
        return  # ends lie between drops
    step, k = _step_mm(ends), ends.green.factors.k[ends.sizes.axis]
    left = np.mod(_green_mm(ends) / step, 1.0)
    for row in np.flatnonzero(ends.sizes.axis != UP).tolist():
        share = float(left[row])
        any_share = choices.by_place  # then each piece has its own size as printed
        width = math.sqrt(1 / 6 if any_share else share * (1 - share))
        lever = np.zeros(len(k))
        lever[row] = step[row] * width / k[row]
        if width > 0:
            yield DoubtSource(
                LATTICE, f"{LATTICE} {row}", PIECE, lever, normal if any_share else of_two(share)
            )


def _stepped(ends: Ends) -> ndarray:
    """How far the layers of a slope may fall short of where the part ends, float64 (sizes,) [mm].

    Layers are drawn as the part is cut in their middle, so an end that lies between two cuts is lost; which
    part of that bleeding and sintering fill up again is not known. Told on the convex hull: an end that lies
    in a hollow loses at least as much.
    """
    placed = ends.green.shape.vertices @ ends.green.maps[ends.turn].T
    hull = placed[ConvexHull(placed).simplices]
    edges = np.concatenate([hull[:, [0, 1]], hull[:, [1, 2]], hull[:, [2, 0]]])
    edges[..., UP] -= placed[:, UP].min()
    k, lost = ends.green.factors.k, np.zeros(3)
    for axis in range(UP):
        for side in (-1.0, 1.0):
            lost[axis] += _short(edges, axis, side, ends.stack.layer_mm) / k[axis]
    return np.asarray(lost[ends.sizes.axis])


def _short(edges: ndarray, axis: int, side: float, layer: float) -> float:
    """How far the outermost cut at mid-layer stays behind the outermost corner on one side [mm]."""
    reach = side * edges[..., axis]
    outer = np.argmax(reach, axis=1)
    rows = np.arange(len(edges))
    far, near = edges[rows, outer], edges[rows, 1 - outer]
    rise = far[:, UP] - near[:, UP]
    last = np.where(rise > 0, np.ceil(far[:, UP] / layer - 0.5) - 1, np.floor(far[:, UP] / layer - 0.5) + 1)
    plane = (last + 0.5) * layer
    share = np.divide(plane - near[:, UP], rise, out=np.full(len(rise), -1.0), where=rise != 0)
    cut = (share >= 0) & (share <= 1)
    ends = side * (near[:, axis] + share * (far[:, axis] - near[:, axis]))
    return float(reach.max() - ends[cut].max()) if cut.any() else 0.0
