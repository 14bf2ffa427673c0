"""How long the box must be heated, on voxels as fine as the answer needs, and how well that is known."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.goods.layout import Layout
from sagger.physics.heat import conduction
from sagger.physics.heat.box_heat import BoxRun, CuringBox, Programme, all_cured, cure, reached
from sagger.physics.heat.box_heat_grid import Face, Material
from sagger.physics.heat.box_heat_kinetics import CureKinetics, equivalent_needed, speed
from sagger.stations.cure import filling
from sagger.stations.cure.filling import Voxels
from sagger.stations.cure.programme import Corners, held
from sagger.statistics import chance
from sagger.tick import Tick
from sagger.units import into

FIRST, FINER = 27, 1.5  # voxels along the longest side at first, and how many times more with each try
ERROR = 0.01  # of the heating time that finer voxels may still change
MOST = 120_000  # voxels; beyond, what is left of the error is told instead
PATIENCE, TRIES = 4.0, 3  # a run ends after so many times the block's own time; then again, so often


class Case(NamedTuple):
    """A box in its oven, but for the voxels."""

    loose: Material
    piece: Material
    faces: tuple[Face, ...]
    kinetics: CureKinetics
    rise: Corners
    start: float  # [K]
    target: float  # every piece must reach it [K]


class Heated(NamedTuple):
    """What one lattice found."""

    seen: Voxels
    box: CuringBox
    programme: Programme  # held on beyond what is needed
    run: BoxRun
    warm: float  # coldest piece at the target [s]
    cured: float  # last piece cured [s]

    @property
    def hold(self) -> float:
        """Heating that satisfies both [s]."""
        return max(self.warm, self.cured)


class HeatingDoubt(NamedTuple):
    """How well the heating time is known."""

    u: float  # [s]
    shares: tuple[tuple[str, float], ...]  # of the variance, largest first


class Unsure(NamedTuple):
    """Relative standard uncertainties of what the heating time hangs on."""

    bed: float
    piece: float
    film: float
    packing: float
    cure_time: float


def heated(layout: Layout, case: Case, tick: Tick) -> tuple[Heated, Heated, float]:
    """The first lattice's answer, the finest one's, and what the last refinement changed [s].

    Raises
    ------
    StopError
        If the pieces are not cured in any time that makes sense.
    """
    longest, first = float(FIRST), heat(filling.voxels(layout, FIRST), case, tick)
    last = first
    while True:
        longest *= FINER
        finer = heat(filling.voxels(layout, round(longest)), case, tick)
        change, last = abs(finer.hold - last.hold), finer
        if change <= ERROR * finer.hold or finer.seen.shares.size * FINER**3 > MOST:
            return first, finer, change


def heat(seen: Voxels, case: Case, tick: Tick) -> Heated:
    """One run, until every piece is cured and at its temperature."""
    bed = filling.bed(seen, case.loose, case.piece, case.start)
    box = CuringBox(bed, case.faces, case.kinetics)
    until = all_cured(bed, case.kinetics, case.target)
    end = case.rise[-1][0] + PATIENCE * guess(seen, case)
    for _ in range(TRIES):
        programme = held(case.rise, end)
        run = cure(box, programme, until=until, tick=tick)
        warm = reached(run.times, run.coldest, case.target)
        if max(warm, run.cured_after) < inf:
            return Heated(seen, box, programme, run, warm, run.cured_after)
        end *= PATIENCE
    hot, coldest = into(case.rise[-1][1], "degC"), into(float(run.coldest[-1]), "degC")
    what = f"after {run.times[-1] / 3600:.0f} h at {hot:.0f} degC the coldest piece is at {coldest:.0f} degC"
    raise StopError(f"{what} and not cured; raise the set point or the heat transfer on the oven card")


def guess(seen: Voxels, case: Case) -> float:
    """About how long the box takes [s]: a block of loose powder alone, every face as the weakest."""
    block = _block(seen, case)._replace(start=case.start, oven=case.rise[-1][1])
    warm = conduction.time_to_temperature(block, conduction.core(block), case.target)
    pace = float(speed(case.kinetics, np.asarray(case.rise[-1][1])))
    spreads = min(block.half_sides) ** 2 / block.diffusivity
    return warm + equivalent_needed(case.kinetics) / pace + spreads


def cooling_guess(seen: Voxels, case: Case, open_at: float) -> float:
    """About how long the box takes to cool to `open_at` [K] from the set point [s]."""
    block = _block(seen, case)._replace(start=case.rise[-1][1], oven=case.start)
    return conduction.time_to_temperature(block, conduction.core(block), open_at)


def known(case: Case, first: Heated, change: float, unsure: Unsure, tick: Tick) -> HeatingDoubt:
    """Uncertainty of the heating time: each input moved by its own, on the first lattice.

    Source
    ------
    JCGM 100:2008, 5.1.2 and 5.1.4 (a finite difference for each sensitivity); inputs taken as independent.
    """
    moved = [(name, heat(first.seen, other, tick).hold - first.hold) for name, other in _moved(case, unsure)]
    parts = [*moved, ("voxels", change)]
    return HeatingDoubt(chance.combined([step for _, step in parts]), chance.named_shares(parts))


def _moved(case: Case, unsure: Unsure) -> Iterator[tuple[str, Case]]:
    loose, piece = case.loose, case.piece
    if unsure.bed:
        value = loose.conductivity * (1 + unsure.bed)
        follows = piece.conductivity == loose.conductivity  # the card has no figure of the pieces' own
        both = loose._replace(conductivity=value), piece._replace(conductivity=value)
        yield "bed conductivity", case._replace(loose=both[0], piece=both[1] if follows else piece)
    if unsure.piece:
        value = piece.conductivity * (1 + unsure.piece)
        yield "piece conductivity", case._replace(piece=piece._replace(conductivity=value))
    if unsure.film:
        faces = tuple(face._replace(film=face.film * (1 + unsure.film)) for face in case.faces)
        yield "heat transfer", case._replace(faces=faces)
    if unsure.packing:
        more = loose.volume_heat * unsure.packing
        denser = [each._replace(volume_heat=each.volume_heat + more) for each in (loose, piece)]
        yield "packing", case._replace(loose=denser[0], piece=denser[1])
    if unsure.cure_time:
        slower = case.kinetics._replace(rate=case.kinetics.rate / (1 + unsure.cure_time))
        yield "cure time", case._replace(kinetics=slower)


def _block(seen: Voxels, case: Case) -> conduction.Block:
    x, y, z = (float(widths.sum()) for widths in seen.widths)
    film = min(face.film for face in case.faces)
    loose = case.loose
    return conduction.Block((x, y, z), loose.conductivity, loose.volume_heat, film, case.start, case.start)
