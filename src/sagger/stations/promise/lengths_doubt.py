"""What makes a finished length longer or shorter as a whole: factors, law, lot, load, places, the piece."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.cell import Cell
from sagger.goods.factors import Factors
from sagger.goods.job import Build
from sagger.goods.learned import Approved
from sagger.goods.powder import Sintering
from sagger.goods.sintered import Sintered
from sagger.goods.stack import DropRaster, Stack
from sagger.stations.promise.source import LOAD, LOT, PIECE, SHOP, DoubtSource
from sagger.statistics import chance, field

FACTOR, CAST = "oversize factor", "casting contraction"
BED, LOTS, PLACE, PART = "bed place", "lot", "furnace place", "part to part"
UNEVEN, MOULD, RUN = "furnace uniformity", "mould", "furnace run"
CONDITIONS = "other conditions"
TINY = 1e-12  # of a length: less than any doubt
AXES = "xyz"


class SizeSpans(NamedTuple):
    """How far sizes go where lengths grow along one machine axis; a size may be any linear form of them."""

    by_axis: ndarray  # float64 (sizes, 3) [mm]: of an overall size its nominal, on its axis
    groups: tuple[slice, ...]  # sizes that scatter together from piece to piece

    def along(self, relative: ndarray) -> ndarray:
        """Millimetres of each size by what is given relative to length by axis, float64 (3,)."""
        return np.asarray(self.by_axis @ relative)

    def only(self, axis: int, relative: ndarray) -> ndarray:
        """The same where lengths along one axis only grow."""
        return np.asarray(self.by_axis[:, axis] * relative[axis])


class Furnished(NamedTuple):
    """What a job is made with, as far as lengths depend on it."""

    factors: Factors
    sintered: Sintered | None  # None for sand
    cell: Cell
    approved: Approved
    builds: tuple[Build, ...]
    raster: DropRaster | None = None  # where nothing is nested yet

    @property
    def drops(self) -> DropRaster | Stack:
        """Drops and layers that all boxes have."""
        return self.raster or self.builds[0].stack


def ratio(of: Furnished) -> ndarray:
    """Expected finished over nominal length along the machine's axes, float64 (3,).

    While the factors come from the card, printed length times the furnace's forecast. Factors measured in
    this shop know better than the forecast: with them what is expected is nominal.
    """
    carried = of.approved.carried
    if carried is not None and of.sintered is not None:
        return np.asarray(of.factors.k / carried.approved.k * carried.shift)
    if of.sintered is None or of.factors.origin != "card":
        return np.ones(3)
    return np.asarray(of.factors.k * of.sintered.ratio)


def lengths(of: Furnished, sizes: SizeSpans) -> Iterator[DoubtSource]:
    """Every source that changes a length in proportion to itself."""
    card, known = of.cell.powder.sintering, of.approved.scatter
    u_k = of.factors.u / of.factors.k
    if of.sintered is None or card is None:
        yield from _cast(of, sizes, u_k)
    elif known is not None and of.factors.origin != "card":
        yield from _approved(of, sizes, u_k)
        if of.approved.carried is None:
            yield DoubtSource(LOTS, LOTS, LOT, sizes.along(np.full(3, known.lot)))
        yield DoubtSource(BED, BED, PIECE, sizes.along(np.full(3, _bed(of))))
        yield DoubtSource(PLACE, PLACE, PIECE, sizes.along(np.full(3, known.furnace)))
        yield from _by_size(PART, sizes, known.part)
    else:
        yield from _foretold(of, sizes, u_k, of.sintered, card)


def _foretold(
    of: Furnished, sizes: SizeSpans, u_k: ndarray, sintered: Sintered, card: Sintering
) -> Iterator[DoubtSource]:
    """Of the cards, for want of scatter measured in this shop."""
    furnace, run = sintered.ratio_u_furnace / sintered.ratio, sintered.ratio_u_load / sintered.ratio
    if of.factors.origin != "card":
        yield from _approved(of, sizes, u_k)
    elif len(sintered.ratio_draws):
        yield _by_worlds(sizes, u_k, sintered)
    else:
        rest = (sintered.ratio_u / sintered.ratio) ** 2 - furnace**2 - run**2
        yield from _together(sizes, np.maximum(u_k, np.sqrt(np.maximum(rest, 0.0))))
    if np.any(run):
        yield DoubtSource(RUN, RUN, LOAD, sizes.along(run))
    yield DoubtSource(UNEVEN, PLACE, PIECE, sizes.along(furnace))
    yield from _by_size(PART, sizes, card.scatter.value)
    yield from _bed_by_card(of, sizes)


def _approved(of: Furnished, sizes: SizeSpans, u_k: ndarray) -> Iterator[DoubtSource]:
    """Of factors that a person approved: their own doubt, and what other conditions than theirs add."""
    carried = of.approved.carried
    if carried is None:
        yield from _by_axis(FACTOR, SHOP, sizes, u_k)
        return
    yield from _by_axis(FACTOR, SHOP, sizes, carried.approved.u / carried.approved.k)
    if len(carried.shift_draws) and np.any(carried.u_shift):
        yield _drawn(CONDITIONS, sizes, carried.shift_draws / carried.shift - 1, carried.u_shift)
    else:
        yield from _together(sizes, carried.u_shift, CONDITIONS)
    untold, lot = (sizes.along(np.full(3, u)) for u in (carried.u_untold, carried.u_lot))
    yield DoubtSource(CONDITIONS, "untold conditions", SHOP, untold)
    yield DoubtSource(LOTS, LOTS, LOT, lot)


def _by_worlds(sizes: SizeSpans, u_k: ndarray, sintered: Sintered) -> DoubtSource:
    """What the forecast itself does not know, as it was drawn; never surer than the card of its factors."""
    return _drawn(FACTOR, sizes, sintered.ratio_draws / sintered.ratio - 1, u_k)


def _drawn(name: str, sizes: SizeSpans, off: ndarray, least: ndarray) -> DoubtSource:
    """Relative deviations by axis as they were drawn, float64 (worlds, 3), spread at least so far."""
    wider = np.maximum(1.0, least / np.maximum(off.std(axis=0), TINY))
    worlds = (off * wider) @ sizes.by_axis.T
    return DoubtSource(name, name, SHOP, worlds.std(axis=0), worlds=worlds)


def _cast(of: Furnished, sizes: SizeSpans, u_k: ndarray) -> Iterator[DoubtSource]:
    """Of a casting in printed sand: contraction of the metal, give of the mould, place in the bed."""
    yield from _together(sizes, u_k, CAST)
    mould = of.cell.powder.mould_scatter
    if mould is not None and of.factors.origin == "casting contraction":
        yield DoubtSource(MOULD, MOULD, PIECE, sizes.along(np.full(3, mould.value)))
    yield from _bed_by_card(of, sizes)


def _bed_by_card(of: Furnished, sizes: SizeSpans) -> Iterator[DoubtSource]:
    given = of.cell.powder.bed_scatter
    if given is not None:
        yield DoubtSource(BED, BED, PIECE, sizes.along(np.full(3, given.value)))


def _together(sizes: SizeSpans, u: ndarray, name: str = FACTOR) -> Iterator[DoubtSource]:
    """What axes share moves them together; the rest is each one's own."""
    shared = float(u.min())
    yield DoubtSource(name, name, SHOP, sizes.along(np.full(3, shared)))
    yield from _by_axis(name, SHOP, sizes, np.sqrt(np.maximum(u**2 - shared**2, 0.0)))


def _by_axis(name: str, level: str, sizes: SizeSpans, u: ndarray) -> Iterator[DoubtSource]:
    """Doubts that axes do not share: each was fitted for itself."""
    for axis in np.flatnonzero(np.any(sizes.by_axis, axis=0)).tolist():
        if u[axis] > 0:
            yield DoubtSource(name, f"{name} {AXES[axis]}", level, sizes.only(axis, u))


def _by_size(name: str, sizes: SizeSpans, u: float) -> Iterator[DoubtSource]:
    """What differs from piece to piece, and from size to size of one piece."""
    whole = sizes.along(np.full(3, u))
    for number, rows in enumerate(sizes.groups if u > 0 else ()):
        lever = np.zeros(len(whole))
        lever[rows] = whole[rows]
        yield DoubtSource(name, f"{name} {number}", PIECE, lever)


def _bed(of: Furnished) -> float:
    """Relative scatter by place in the bed: as measured, or what the map leaves where sizes follow it."""
    scatter, bed = of.approved.scatter, of.approved.bed
    if scatter is None:
        return 0.0
    return scatter.bed if bed is None else mapped(of)


def mapped(of: Furnished) -> float:
    """Relative scatter of a length that the map of the bed leaves where sizes follow it."""
    bed = of.approved.bed
    if bed is None:
        return 0.0
    at = np.array([piece.placement[:3, 3] for build in of.builds for piece in build.layout.pieces])
    model = field.FieldModel(bed.axes, bed.amplitude, bed.reach_mm, bed.noise)
    seen = field.seen(bed.places_mm, bed.density, model, at)
    return chance.combined(seen.u / seen.mean / np.sqrt(len(at))) / 3
