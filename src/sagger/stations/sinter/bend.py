"""The green shape that comes out of the furnace right."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError, LawError
from sagger.geometry import cells as cutting
from sagger.geometry import mesh, warp
from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.powder import Powder
from sagger.goods.sag import Deformed, Misfit, Sag
from sagger.goods.shape import Shape
from sagger.physics import solid
from sagger.physics.solid.body import volumes
from sagger.stations.sinter.firing import Firing, firing
from sagger.stations.sinter.shape import GRIDS, MOST_EDGE, Run, checked, sintering
from sagger.stations.sinter.stand import Stand, finished, fired, lowered, misfit, stand, standing
from sagger.tick import Tick, silent

ROUNDS = 3
CLOSE = 0.005  # of the misfit at the start: more rounds only chase the grid
FOLDED = 0.2  # least Jacobian over largest of a green brick
CROSSED = 1e-3  # share of lines that may find the bent surface crossing itself, beyond the nominal one's


def predeform(
    green: Green, powder: Powder, furnace: Furnace, method: str, *, flat: bool = True, tick: Tick = silent
) -> Green:
    """The green part so bent that it comes out of the furnace at nominal.

    Parameters
    ----------
    green : Green
        At even oversize.
    method : str
        "quick" or "full".
    flat : bool
        Keep faces that lie on the setter flat, at the price of what legs tilt when a span sags.

    Returns
    -------
    Green
        With `sag`: misfit before, and after on an unrelated finer grid. The shape is left as it is if a
        finding at level "stop" says that the furnace cannot be followed, or if bending does not help.

    Raises
    ------
    InputError
        If the powder is not sintered.

    Source
    ------
    Fixed point on the nodes: green -= oversize x (finished - nominal); science of springback compensation in
    sheet forming (Gan and Wagoner 2004, from memory), derived for shrinkage.
    """
    how = firing(powder, sintering(powder), furnace, green.factors)
    nominal, _ = standing(green.part.shape, green.part.turns[0])
    grids = GRIDS[method]
    pitch = cutting.pitch_for(nominal, grids.bent, green.part.volume_mm3)
    oversize = np.asarray(green.factors.k)
    try:
        here = stand(warp.divided(nominal, MOST_EDGE * pitch), pitch, oversize)
    except LawError as error:
        return _left(green, method, 0, (*how.findings, _not_followed(error)))
    found = (*how.findings, *here.findings)
    if any(each.level == "stop" for each in found):
        return _left(green, method, len(here.built.body.share), found)
    try:
        bent = _bent(here, oversize, how, flat, tick)
        fine = cutting.pitch_for(nominal, grids.checked, green.part.volume_mm3)
        full = _green(here, bent.place, oversize, flat)
        out = checked(full, np.asarray(here.shape.vertices), fine, Run(how), tick)
    except LawError as error:
        return _left(green, method, len(here.built.body.share), (*found, _not_followed(error)))
    return _handed(green, method, here, bent, (full, out))


class Bent(NamedTuple):
    place: ndarray  # float64 (n, 3): green nodes [m]
    before: Misfit
    rounds: int
    untreated: ndarray  # float64 (n, 3): off nominal at the vertices before any bending [mm]


def _bent(here: Stand, oversize: ndarray, how: Firing, flat: bool, tick: Tick) -> Bent:
    """Nodes of the green body that come out nearest to nominal."""
    rest, target = here.built.place, np.asarray(here.shape.vertices)
    place = lowered(here, rest * oversize)
    sole = _sole(here) if flat else np.zeros(len(rest), bool)
    best, before, share, rounds = place, None, 1.0, 0
    least = np.inf
    for rounds in range(ROUNDS + 1):
        tick.say("bending the part against its sag", rounds, ROUNDS + 1)
        out = fired(here, place, how, tick=tick)
        points, shift = finished(here, out, target)
        found = misfit(points, target, here.weights)
        if before is None:
            before, untreated = found, points - target
        if found.rms_mm < least:
            least, best, wrong = found.rms_mm, place, out.place + shift * 1e-3 - rest
        else:
            share /= 2
        if rounds == ROUNDS or least < CLOSE * before.rms_mm:
            break
        wrong[sole, 2] = 0.0
        place = _moved(here, best, -share * oversize * wrong)
    assert before is not None
    return Bent(best, before, rounds, untreated)


def _moved(here: Stand, place: ndarray, step: ndarray) -> ndarray:
    """Green nodes after a step, shorter where it would fold a brick."""
    for _ in range(6):
        moved = lowered(here, place + step)
        if volumes(here.built.body, moved)[1].min() > FOLDED:
            return moved
        step = step / 2
    return place


def _sole(here: Stand) -> ndarray:
    """Nodes that carry a face which lies on the setter."""
    feet = here.feet.points
    low = solid.carried(feet, here.built.body.nodes, here.built.place)[:, 2] < 1e-3 * here.built.pitch
    share = np.zeros(len(here.built.place))
    np.maximum.at(share, here.built.body.nodes[feet.brick[low]], feet.weights[low])
    return share > 0.02


def _green(here: Stand, place: ndarray, oversize: ndarray, flat: bool) -> Shape:
    """The green surface, of full size; bent less where it would cross itself [mm]."""
    straight = np.asarray(here.shape.vertices) * oversize
    bent = solid.carried(here.surface, here.built.body.nodes, place) * 1e3
    if flat:
        bent[straight[:, 2] < 1e-6, 2] = 0.0
    pitch = here.built.pitch * 1e3
    allowed = warp.crossed(here.shape, pitch / 3) + CROSSED
    for share in (1.0, 0.5, 0.25, 0.125):
        out = mesh.shape(straight + share * (bent - straight), here.shape.triangles)
        if warp.crossed(out, pitch / 3) <= allowed:
            return out
    return mesh.shape(straight, here.shape.triangles)


def _handed(green: Green, method: str, here: Stand, bent: Bent, made: tuple[Shape, Deformed]) -> Green:
    full, out = made
    turn = green.part.turns[0]
    _, shift = standing(green.part.shape, turn)
    sag = Sag(
        method=method,
        before=bent.before,
        after=out.misfit,
        rounds=bent.rounds,
        cells=len(here.built.body.share),
        finished=out,
        findings=(*here.findings, *out.findings, _told(green, bent, out)),
        untreated_mm=bent.untreated,
    )
    if out.misfit.rms_mm >= bent.before.rms_mm:
        return dataclasses.replace(green, sag=dataclasses.replace(sag, after=None, rounds=0))
    size = full.vertices / green.factors.k
    vertices = (size - shift) @ turn  # the inverse of a turn is its transpose
    return dataclasses.replace(green, shape=mesh.shape(vertices, here.shape.triangles), sag=sag)


def _told(green: Green, bent: Bent, out: Deformed) -> Finding:
    name = green.part.request.name
    helped = out.misfit.rms_mm < bent.before.rms_mm
    (most, rms), (then, left) = ((each.most_mm, each.rms_mm) for each in (bent.before, out.misfit))
    text = f"{name} would come out up to {most:.2f} mm off nominal (rms {rms:.3f} mm); "
    text += (
        f"pre-deformed, up to {then:.2f} mm (rms {left:.3f} mm) by the same law on an unrelated grid. What "
        "the card does not know comes on top."
        if helped
        else "bending it does not help, so it is printed as it is."
    )
    return Finding(
        level="ok" if helped else "look",
        what="sag by finite elements",
        text=text,
        value=out.misfit.most_mm,
        unit="mm",
        source="viscous law on the powder card",
        remedy="" if helped else "Support the part, turn it, or choose the fine grid.",
    )


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


def _not_followed(error: LawError) -> Finding:
    return Finding(
        level="stop",
        what="not followed through the furnace",
        text=f"{str(error)[0].upper()}{str(error)[1:]}.",
        source="viscous law on the powder card",
        remedy="Support the part or turn it, or order it by oversize factors alone.",
    )


def by_scans(green: Green, deviations: ndarray) -> Green:
    """The green part corrected by what was measured on several finished ones.

    Parameters
    ----------
    green : Green
        As it was printed.
    deviations : float64 (parts, n, 3)
        Finished less nominal at the vertices of `green.shape`, in the part's axes [mm].

    Raises
    ------
    InputError
        If there is but one part, or the field does not fit the shape: one part is noise, not a law. Jadayel
        and Khameneifar, JMMP 4 (2020), abstract: one part is more than twice as bad as the mean of five.
    """
    field = np.asarray(deviations, float)
    if field.ndim != 3 or field.shape[0] < 2 or field.shape[1:] != green.shape.vertices.shape:
        raise InputError(
            "deviations of two parts or more are needed, one row for each vertex",
            field="deviations",
            value=field.shape,
            remedy="Measure several parts and give all of them; a single part must not change the shape.",
        )
    mean = field.mean(axis=0)
    allowed = warp.crossed(green.shape, float(np.ptp(green.shape.vertices)) / 200) + CROSSED
    for share in (1.0, 0.5, 0.25, 0.125):
        bent = mesh.shape(green.shape.vertices - share * mean, green.shape.triangles)
        if warp.crossed(bent, float(np.ptp(green.shape.vertices)) / 200) <= allowed:
            return dataclasses.replace(green, shape=bent)
    return green
