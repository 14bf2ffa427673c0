"""How the pieces stand on trays, how trays share shelves, and how many furnace runs that takes."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from sagger.errors import InputError
from sagger.goods.figure import cited
from sagger.goods.finding import Against, Finding, about, stop
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.load import Load, Tray, TrayFit
from sagger.goods.powder import Powder, Sintering
from sagger.stations.sinter.law import fired
from sagger.stations.sinter.rows import RowSize, Wanted, counts, grid, on_trays

NO_DATE = "9999"  # after all dates


class PartFootprint(NamedTuple):
    """One part on its setter, at green size."""

    fit: TrayFit
    shelves: int  # a tray with it needs
    size: RowSize  # as it is laid in rows [m]


def load(
    greens: tuple[Green, ...], powder: Powder, furnace: Furnace, binder: float
) -> tuple[Load, tuple[Finding, ...]]:
    """Trays and runs for all pieces, and what does not fit.

    Pieces stand as in their first orientation, at green size: each shrinks towards a point within its own
    outline, so it never leaves it, and needs no room to retract (docs/why/retraction.md). Parts of one load
    share trays, in rows; a tall piece takes the shelf above as well, where the furnace card says how far
    shelves are apart.

    Parameters
    ----------
    greens : tuple of Green
    powder : Powder
        One family of powders to a load.
    furnace : Furnace
    binder : float
        Mass of binder over mass of powder in a green piece [-].

    Raises
    ------
    InputError
        If a part was sized for another powder than the load's.
    """
    _refuse_mixed(greens, powder, fired(powder))
    stands = [_stand(part, green, powder, furnace, binder) for part, green in enumerate(greens)]
    dues = [green.part.request.due or NO_DATE for green in greens]
    trays, shelves = _trays(stands, furnace, dues), round(furnace.shelves.value)
    runs = max((tray.run for tray in trays), default=0)
    loaded = Load(
        fits=tuple(_counted(stand.fit, trays) for stand in stands),
        trays=len(trays),
        trays_per_run=shelves,
        runs=runs,
        fill=sum(tray.shelves for tray in trays) / (runs * shelves) if runs else 0.0,
        each=trays,
    )
    findings = [
        about(part, finding)
        for part, (stand, green) in enumerate(zip(stands, greens, strict=True))
        for finding in (*_too_large(stand, green, furnace), *_too_heavy(stand, green, furnace))
    ]
    return loaded, tuple(findings)


def _refuse_mixed(greens: tuple[Green, ...], powder: Powder, card: Sintering) -> None:
    strange = {green.factors.material for green in greens} - {powder.name}
    if strange:
        raise InputError(
            f"a load is of one family, here {card.family}; {', '.join(sorted(strange))} is not of it",
            field="powder",
            value=powder.name,
            remedy="Fire it in a run of its own: programme and atmosphere are this powder's.",
        )


def _stand(part: int, green: Green, powder: Powder, furnace: Furnace, binder: float) -> PartFootprint:
    x, y, z = (float(side) for side in np.ptp(green.shape.vertices @ green.maps[0].T, axis=0) * 1e-3)
    card = powder.sintering
    density = card.green_density.value * powder.solid_density.value if card else 0.0
    mass = green.part.volume_mm3 * 1e-9 * float(np.prod(green.factors.k)) * density * (1 + binder)
    room, gap = _room(furnace), furnace.part_gap.value
    able = math.prod(grid(room, 0.0, (x, y), gap))
    if furnace.tray_load is not None and mass:
        able = min(able, math.floor(furnace.tray_load.value / mass))
    upright = math.prod(counts(room, RowSize(x, y), gap)) >= math.prod(counts(room, RowSize(y, x), gap))
    fit = TrayFit(
        part=part,
        quantity=green.part.request.started,
        footprint=(x, y),
        height=z,
        mass=mass,
        per_tray=able,
        trays=0,
    )
    return PartFootprint(fit, shelves_for(z, furnace), RowSize(*((x, y) if upright else (y, x))))


def _room(furnace: Furnace) -> RowSize:
    """A tray between its rims [m]."""
    edge = 2 * furnace.tray_edge.value
    return RowSize(furnace.tray_x.value - edge, furnace.tray_y.value - edge)


def shelves_for(height: float, furnace: Furnace) -> int:
    """Shelves that a piece of this height takes; 0 if the furnace is too low for it.

    Source
    ------
    Counting: n shelves leave the free height of one and n - 1 distances between setters.
    """
    over = height - furnace.shelf_height.value
    if over <= 0:
        return 1
    if furnace.shelf_pitch is None:
        return 0
    needed = 1 + math.ceil(over / furnace.shelf_pitch.value - 1e-9)
    return needed if needed <= round(furnace.shelves.value) else 0


def _trays(stands: list[PartFootprint], furnace: Furnace, dues: list[str]) -> tuple[Tray, ...]:
    """Trays filled row by row, tall pieces with tall ones; what fits no tray gets one each."""
    made: list[Tray] = []
    most = furnace.tray_load.value if furnace.tray_load else math.inf
    for shelves in sorted({stand.shelves for stand in stands}, reverse=True):
        by_due = sorted(stands, key=lambda stand: dues[stand.fit.part])
        here = {stand.fit.part: stand for stand in by_due if stand.shelves == shelves}
        wanted = {}
        for part, stand in here.items():
            if stand.fit.per_tray:
                wanted[part] = Wanted(stand.size, stand.fit.mass, stand.fit.quantity)
            else:
                alone = Tray(pieces=((part, 1),), shelves=max(shelves, 1), mass=stand.fit.mass, run=0)
                made += [alone] * stand.fit.quantity
        for pieces in on_trays(wanted, _room(furnace), furnace.part_gap.value, most):
            mass = sum(here[part].fit.mass * number for part, number in pieces)
            made.append(Tray(pieces=pieces, shelves=max(shelves, 1), mass=mass, run=0))
    return _numbered(made, round(furnace.shelves.value), dues)


def _numbered(trays: list[Tray], shelves: int, dues: list[str]) -> tuple[Tray, ...]:
    """Trays in as few runs as found; what is due first is fired first."""

    def due(tray: Tray) -> str:
        return min(dues[part] for part, _ in tray.pieces)

    tight = _in_runs(sorted(trays, key=lambda tray: -tray.shelves), shelves)
    early = _in_runs(sorted(trays, key=lambda tray: (due(tray), -tray.shelves)), shelves)
    if not tight or early[-1].run <= tight[-1].run:
        return early
    first = {run: min(due(tray) for tray in tight if tray.run == run) for run in {tray.run for tray in tight}}
    number = {
        run: place for place, run in enumerate(sorted(first, key=lambda run: (first[run], run)), start=1)
    }
    renamed = (dataclasses.replace(tray, run=number[tray.run]) for tray in tight)
    return tuple(sorted(renamed, key=lambda tray: tray.run))


def _in_runs(trays: list[Tray], shelves: int) -> tuple[Tray, ...]:
    """Trays in runs, each into the first run with shelves left."""
    left: list[int] = []
    placed = []
    for tray in trays:
        run = next((at for at, free in enumerate(left) if free >= tray.shelves), len(left))
        if run == len(left):
            left.append(shelves)
        left[run] -= tray.shelves
        placed.append(dataclasses.replace(tray, run=run + 1))
    return tuple(sorted(placed, key=lambda tray: tray.run))


def _counted(fit: TrayFit, trays: tuple[Tray, ...]) -> TrayFit:
    """The fit with the number of trays on which the part stands."""
    number = sum(any(part == fit.part for part, _ in tray.pieces) for tray in trays)
    return dataclasses.replace(fit, trays=number)


def _too_large(stand: PartFootprint, green: Green, furnace: Furnace) -> Iterator[Finding]:
    fit = stand.fit
    name, height = green.part.request.name, fit.height * 1e3
    limit = 1e3 * furnace.shelf_height.value
    if furnace.shelf_pitch is not None:
        limit += 1e3 * (round(furnace.shelves.value) - 1) * furnace.shelf_pitch.value
    if not stand.shelves:
        yield stop(
            "furnace height",
            f"{name} stands {height:.1f} mm high when green, {height - limit:.1f} mm more than "
            f"{furnace.title} leaves free"
            f"{'' if furnace.shelf_pitch else ' on a shelf (its card gives no shelf_pitch)'}.",
            Against(height, limit, "mm", furnace.shelf_height.source),
            "Take shelves out, lay the part down, or choose a taller furnace.",
        )
    if not math.prod(grid(_room(furnace), 0.0, fit.footprint, furnace.part_gap.value)):
        yield _too_wide(fit, name, furnace)


def _too_wide(fit: TrayFit, name: str, furnace: Furnace) -> Finding:
    free = sorted(_room(furnace))
    over = max(have - want for have, want in zip(sorted(fit.footprint), free, strict=True)) * 1e3
    sides = " x ".join(f"{side * 1e3:.1f}" for side in fit.footprint)
    return stop(
        "furnace tray",
        f"{name} needs {sides} mm on a tray (green), {over:.1f} mm more than {furnace.title} has.",
        Against(max(fit.footprint) * 1e3, free[-1] * 1e3, "mm", furnace.tray_x.source),
        "Stand the part up (its first orientation), or choose a furnace with larger trays.",
    )


def _too_heavy(stand: PartFootprint, green: Green, furnace: Furnace) -> Iterator[Finding]:
    most = furnace.tray_load
    if most is None or stand.fit.mass <= most.value:
        return
    yield stop(
        "tray load",
        f"{green.part.request.name} weighs {stand.fit.mass:.2f} kg when green, a tray of "
        f"{furnace.title} carries {most.value:.2f} kg.",
        Against(stand.fit.mass, most.value, "kg", cited(most)),
        "Use a stronger setter, or another furnace.",
    )
