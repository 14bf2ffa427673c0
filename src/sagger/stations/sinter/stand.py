"""A part as it stands on its setter, in cells, and what the furnace makes of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.cells import cutting, warp
from sagger.geometry.surface import mesh
from sagger.goods.finding import PRACTICE, Against, Finding, advice, risk, stop
from sagger.goods.sag import Deformed, Misfit
from sagger.goods.shape import Shape
from sagger.physics import solid
from sagger.stations.sinter import contact_findings
from sagger.stations.sinter.firing import Firing, Uneven
from sagger.tick import Tick, silent

LEAKS = 0.01  # share of sample lines that may find the surface open
SPACING = (0.5, 2.0)  # of samples of the underside, in cells: near the setter, and above
NEAR = 2.0  # cells above the setter that are sampled finely
TORN = 1.0  # tension over sintering stress from which pores open rather than close: Olevsky's law, uniaxial 3
UNRELATED = ((0.11, 0.77, 0.0), (0.63, 0.19, 0.0), (0.83, 0.46, 0.0))  # grids on which nothing was bent
THIN = 1.0  # cells: walls thinner than that are told


class StandingCells(NamedTuple):
    """A shape in cells; nodes may be moved from where the grid has them."""

    built: solid.Built
    shape: Shape  # [mm]
    surface: solid.Points  # its vertices
    weights: ndarray  # float64 (n,): area around the vertices, sums to 1
    feet: solid.Feet
    skin: solid.Skin
    findings: tuple[Finding, ...]


def standing(shape: Shape, turn: ndarray) -> tuple[Shape, ndarray]:
    """The shape turned, its lowest point at z = 0 and its middle over the origin, and what was added [mm]."""
    turned = mesh.mapped(shape, turn)
    low, high = turned.vertices.min(axis=0), turned.vertices.max(axis=0)
    shift = -np.array([(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, low[2]])
    return mesh.shape(turned.vertices + shift, turned.triangles), shift


def stand(
    shape: Shape, pitch_mm: float, oversize: ndarray, shift: tuple[float, float, float] = (0.3, 0.3, 0.0)
) -> StandingCells:
    """The shape in cells; `oversize` (3,) is by what it will be enlarged when green."""
    cells = cutting.cells(shape, pitch_mm, shift)
    built = solid.build(cells)
    samples = warp.underside(shape, NEAR * pitch_mm, *(each * pitch_mm for each in SPACING))
    areas, growth = warp.vertex_areas(shape), float(oversize[0] * oversize[1])
    feet = solid.Feet(
        built.points(samples.points * 1e-3, samples.inward),
        samples.area * 1e-6 * growth,
    )
    return StandingCells(
        built=built,
        shape=shape,
        surface=built.points(shape.vertices * 1e-3, warp.inward(shape)),
        weights=areas / areas.sum(),
        feet=feet,
        skin=_skin(built, warp.samples(shape, pitch_mm), growth),
        findings=(
            *_leaking(cells.leaks / cells.columns),
            *_apart(built),
            *_tipping(shape, pitch_mm),
            *_thin(shape, pitch_mm),
        ),
    )


def _skin(built: solid.Built, samples: warp.Samples, growth: float) -> solid.Skin:
    where = built.points(samples.points * 1e-3, samples.inward)
    return solid.Skin(where, samples.area * 1e-6 * growth, -samples.inward, built.pitch)


def lowered(this: StandingCells, place: ndarray) -> ndarray:
    """Nodes so shifted that the lowest foot stands on the setter [m]."""
    feet = solid.carried(this.feet.points, this.built.body.nodes, place)
    return np.asarray(place - np.array([0.0, 0.0, feet[:, 2].min()]))


def fired(
    this: StandingCells, place: ndarray, how: Firing, uneven: Uneven | None = None, *, tick: Tick = silent
) -> solid.Fired:
    """The body, its green nodes at `place` (n, 3) [m], through the furnace run."""
    body, given = this.built.body, uneven or Uneven()
    middle = place[body.nodes].mean(axis=1) - (place.max(axis=0) + place.min(axis=0)) / 2
    density = how.green_density + middle @ np.array(given.density)
    return solid.fire(
        this.built,
        solid.GreenBricks(place, density, middle @ np.array(given.temperature)),
        how.setting,
        feet=this.feet,
        skin=this.skin,
        tick=tick,
    )


class Motion(NamedTuple):
    """A turn about z, then a shift, of points in mm."""

    turn: ndarray  # float64 (3, 3)
    shift: ndarray  # float64 (3,) [mm]


def placed(points: ndarray, motion: Motion) -> ndarray:
    """Points (n, 3) after a motion [mm]."""
    return np.asarray(points @ motion.turn.T + motion.shift)


def finished(this: StandingCells, out: solid.Fired, target: ndarray) -> tuple[ndarray, Motion]:
    """Vertices as they come out, laid on the target as on a surface plate: best in x, y and about z."""
    points = solid.carried(this.surface, this.built.body.nodes, out.place) * 1e3
    middle, wanted = this.weights @ points, this.weights @ target
    a, b = ((points - middle) * this.weights[:, None]).T, (target - wanted).T
    angle = np.arctan2(a[0] @ b[1] - a[1] @ b[0], a[0] @ b[0] + a[1] @ b[1])
    turn = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])
    shift = wanted - turn @ middle
    shift[2] = 0.0
    motion = Motion(turn, shift)
    return placed(points, motion), motion


def misfit(points: ndarray, target: ndarray, weights: ndarray) -> Misfit:
    """Distance of vertices from where they should be, as they lie and after the best rigid fit."""
    from scipy.spatial.transform import Rotation

    away = np.linalg.norm(points - target, axis=1)
    lies, wanted = points - weights @ points, target - weights @ target
    fitted = np.linalg.norm(Rotation.align_vectors(wanted, lies, weights)[0].apply(lies) - wanted, axis=1)
    return Misfit(
        rms_mm=float(np.sqrt(weights @ away**2)),
        most_mm=float(away.max()),
        fit_rms_mm=float(np.sqrt(weights @ fitted**2)),
    )


def deformed(this: StandingCells, out: solid.Fired, target: ndarray, how: Firing) -> Deformed:
    """What came out, with what it says."""
    points, motion = finished(this, out, target)
    skin = placed(solid.carried(this.skin.points, this.built.body.nodes, out.place) * 1e3, motion)
    bricks = this.surface.brick
    tension = out.tension[bricks]
    return Deformed(
        surface=mesh.shape(points, this.shape.triangles),
        nominal=target,
        density=out.density[bricks],
        tension=tension,
        misfit=misfit(points, target, this.weights),
        cells=len(this.built.body.share),
        pitch_mm=this.built.pitch * 1e3,
        steps=out.steps,
        iterations=out.iterations,
        findings=(
            *how.findings,
            *this.findings,
            *_torn(tension, points),
            *contact_findings.through(this.shape, points, this.built.pitch * 1e3),
            *contact_findings.resting(out.bore, skin),
        ),
    )


def _torn(tension: ndarray, points: ndarray) -> Iterator[Finding]:
    worst = int(np.argmax(tension))
    if tension[worst] < TORN:
        return
    x, y, z = (float(each) for each in points[worst])
    yield risk(
        "tension in the furnace",
        f"Tension reaches {tension[worst]:.1f} times the sintering stress at ({x:.1f}, {y:.1f}, "
        f"{z:.1f}) mm on the setter: pores open there, and cracks may begin.",
        Against(float(tension[worst]), TORN, "-", PRACTICE),
        "Round the corner, lower the friction of the setter, or support the span.",
        at_mm=(x, y, z),
    )


def _leaking(share: float) -> Iterator[Finding]:
    if share <= LEAKS:
        return
    yield stop(
        "open surface",
        f"{share:.0%} of the lines through the part find its surface open; its inside is not known.",
        Against(share * 100, LEAKS * 100, "%", PRACTICE),
        "Mend the part file, or order by oversize factors alone.",
    )


def _apart(built: solid.Built) -> Iterator[Finding]:
    count = int(built.pieces.bodies.max()) + 1
    if count == 1:
        return
    yield stop(
        "loose bodies",
        f"The part is in {count} pieces that do not hang together at cells of "
        f"{built.pitch * 1e3:.2g} mm; how they stand in the furnace is not known.",
        Against(float(count), 1.0, "pieces", PRACTICE),
        "Order the pieces as parts of their own, or take the fine grid if a thin wall joins them.",
    )


BEAMS = "beams one cell high bend within 2.5 % of Timoshenko, thinner ones were not tried"


def _thin(shape: Shape, pitch_mm: float) -> Iterator[Finding]:
    """Whether walls are thinner than cells, which then bend less surely."""
    wall = 2 * mesh.volume(shape) / mesh.area(shape)
    if wall >= THIN * pitch_mm:
        return
    yield advice(
        "thin for the grid",
        f"Walls are {wall:.2g} mm thick on average, cells {pitch_mm:.2g} mm wide: how they bend is not sure.",
        Against(wall, THIN * pitch_mm, "mm", BEAMS),
        "Take the fine grid, or judge the part by coupons.",
    )


def _tipping(shape: Shape, pitch_mm: float) -> Iterator[Finding]:
    """Whether the centre of mass lies beyond what the part stands on."""
    a, b, c = np.moveaxis(mesh.corners(shape), 1, 0)
    volumes = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6
    centre = ((a + b + c) / 4 * volumes[:, None]).sum(axis=0) / volumes.sum()
    soles = shape.vertices[shape.vertices[:, 2] < 0.1 * pitch_mm][:, :2]
    angles = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    ways = np.column_stack([np.cos(angles), np.sin(angles)])
    beyond = float((ways @ centre[:2] - (soles @ ways.T).max(axis=0)).max())
    if beyond <= 0.25 * pitch_mm:
        return
    yield stop(
        "falls over",
        f"The part's centre of mass lies {beyond:.1f} mm outside what it stands on: it falls over "
        "on its setter.",
        Against(beyond, 0.0, "mm", "statics"),
        "Turn the part in the order, or give it a foot or a cradle.",
    )
