"""The green shape that comes out of the furnace right."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import LawError
from sagger.geometry.cells import cutting, warp
from sagger.geometry.surface import mesh
from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.learned import BedMap
from sagger.goods.powder import Powder
from sagger.goods.sag import Deformed, Sag
from sagger.goods.shape import Shape
from sagger.physics import solid
from sagger.stations.sinter import slopes
from sagger.stations.sinter.firing import Uneven, firing
from sagger.stations.sinter.part_findings import (
    against_tolerance,
    allowed_mm,
    by_slope,
    inside_out,
    not_followed,
)
from sagger.stations.sinter.rounds import Bent, bent
from sagger.stations.sinter.shape import GRIDS, MOST_EDGE, ShapeRun, checked, sintering, unrelated
from sagger.stations.sinter.stand import StandingCells, finished, fired, misfit, stand, standing
from sagger.tick import Tick, silent

CORRECTED = 2  # times the surface is corrected by what a finer grid finds
ENOUGH = 0.005  # of the misfit at the start: nearer than that one grid does not know another
AIM = 0.05  # of the tolerance: nearer than that nobody measures
CROSSED = 1e-3  # share of lines that may find the bent surface crossing itself, beyond the nominal one's


def predeform(
    green: Green,
    powder: Powder,
    furnace: Furnace,
    method: str,
    bed: BedMap | None = None,
    *,
    tick: Tick = silent,
) -> Green:
    """The green part so bent that it comes out of the furnace at nominal.

    Parameters
    ----------
    green : Green
        At even oversize.
    method : str
        "quick" or "full".
    bed : BedMap, optional
        Approved: its slope of green density along z is in what the part is bent with.

    Returns
    -------
    Green
        With `sag`: misfit before, and after on a finer grid on which nothing was bent. The shape is left
        as it is if a finding at level "stop" says that the furnace cannot be followed, or if bending does
        not help.

    Raises
    ------
    InputError
        If the powder is not sintered.
    """
    uneven, used = slopes.taken(green, bed)
    if not green.part.volume_mm3 > 0:
        return _left(green, method, 0, (inside_out(green),))
    how = firing(powder, sintering(powder), furnace, green.factors)
    run = ShapeRun(how, uneven)
    nominal, _ = standing(green.part.shape, green.part.turns[0])
    pitch = cutting.pitch_for(nominal, GRIDS[method].bent, green.part.volume_mm3)
    oversize = np.asarray(green.factors.k)
    try:
        here = stand(warp.divided(nominal, MOST_EDGE * pitch), pitch, oversize)
    except LawError as error:
        return _left(green, method, 0, (*how.findings, not_followed(error)))
    noticed = (*used, *how.findings, *here.findings)
    if any(finding.level == "stop" for finding in noticed):
        return _left(green, method, len(here.built.body.share), noticed)
    goal = AIM * (allowed_mm(green) or 0.0)
    try:
        nodes = bent(here, oversize, run, goal, tick)
        made = _corrected(green, here, nodes, Fine(method, run, goal), tick)
        hot = _hotter(green, here, nodes, (powder, furnace), tick)
    except LawError as error:
        return _left(green, method, len(here.built.body.share), (*noticed, not_followed(error)))
    stops = [finding for finding in made.out.findings if finding.level == "stop"]
    if stops:
        return _left(green, method, len(here.built.body.share), (*noticed, *made.out.findings))
    return _handed(green, method, here, nodes, made._replace(said=(*used, *hot)))


class Fine(NamedTuple):
    method: str
    run: ShapeRun
    goal_mm: float  # root mean square


class Made(NamedTuple):
    full: Shape  # green surface, of full size [mm]
    out: Deformed  # what comes of it
    said: tuple[Finding, ...] = ()  # of what differs over the part


def _corrected(green: Green, here: StandingCells, nodes: Bent, fine: Fine, tick: Tick) -> Made:
    """The best green surface: by the nodes, then corrected by finer grids; each judged on a new one."""
    oversize = np.asarray(green.factors.k)
    straight, target = here.shape.vertices * oversize, np.asarray(here.shape.vertices)
    points = solid.carried(here.surface, here.built.body.nodes, nodes.place) * 1e3
    best: Made | None = None
    for turn in range(CORRECTED + 1):
        full = _surface(here, straight, points, nodes.flat)
        pitch = cutting.pitch_for(here.shape, GRIDS[fine.method].checked, green.part.volume_mm3)
        named = tick.under(f"checking on a finer grid, run {turn + 1} of at most {CORRECTED + 1}")
        try:
            out = checked(full, target, unrelated(pitch, turn), fine.run, named)
        except LawError:
            if best is None:
                raise
            break
        if best is not None and out.misfit.rms_mm >= best.out.misfit.rms_mm:
            break
        best = Made(full, out)
        if out.misfit.rms_mm <= max(fine.goal_mm, ENOUGH * nodes.before.rms_mm):
            break
        points = full.vertices - oversize * (out.surface.vertices - out.nominal)
    assert best is not None
    return best


def _hotter(
    green: Green, here: StandingCells, nodes: Bent, cards: tuple[Powder, Furnace], tick: Tick
) -> tuple[Finding, ...]:
    """What the furnace's scatter of temperature, as a slope along the part, does to the bent one."""
    powder, furnace = cards
    slope = slopes.warmer_along(furnace)
    half = float(np.ptp(nodes.place[:, 0])) / 2
    if not slope:
        return ()
    how = firing(powder, sintering(powder), furnace, green.factors, slope * half)
    named = tick.under("seeing what a slope of temperature does")
    try:
        out = fired(here, nodes.place, how, Uneven(temperature=(slope, 0.0, 0.0)), tick=named)
    except LawError:
        return ()
    target = np.asarray(here.shape.vertices)
    points, _ = finished(here, out, target)
    return (by_slope(green, misfit(points, nodes.points_mm, here.weights), 2 * slope * half),)


def _surface(here: StandingCells, straight: ndarray, bent: ndarray, flat: bool) -> Shape:
    """The green surface, of full size; bent less where it would cross itself [mm]."""
    if flat:
        bent = bent.copy()
        bent[straight[:, 2] < 1e-6, 2] = 0.0
    pitch = here.built.pitch * 1e3
    allowed = warp.crossed(here.shape, pitch / 3) + CROSSED
    for share in (1.0, 0.5, 0.25, 0.125):
        out = mesh.shape(straight + share * (bent - straight), here.shape.triangles)
        if warp.crossed(out, pitch / 3) <= allowed:
            return out
    return mesh.shape(straight, here.shape.triangles)


def _handed(green: Green, method: str, here: StandingCells, nodes: Bent, made: Made) -> Green:
    turn, after = green.part.turns[0], made.out.misfit
    _, shift = standing(green.part.shape, turn)
    sag = Sag(
        method=method,
        before=nodes.before,
        after=after,
        rounds=nodes.rounds,
        cells=len(here.built.body.share),
        finished=made.out,
        findings=(*made.said, *here.findings, *made.out.findings, against_tolerance(green, nodes, after)),
        untreated_mm=nodes.untreated,
    )
    if after.rms_mm >= nodes.before.rms_mm:
        return dataclasses.replace(green, sag=dataclasses.replace(sag, after=None, rounds=0))
    size = made.full.vertices / green.factors.k
    vertices = (size - shift) @ turn  # the inverse of a turn is its transpose
    return dataclasses.replace(green, shape=mesh.shape(vertices, here.shape.triangles), sag=sag)


def _left(green: Green, method: str, cells: int, findings: tuple[Finding, ...]) -> Green:
    """The part as it was, with the reason."""
    sag = Sag(
        method=method,
        before=None,
        after=None,
        rounds=0,
        cells=cells,
        finished=None,
        findings=findings,
    )
    return dataclasses.replace(green, sag=sag)
