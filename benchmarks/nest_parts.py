"""Thirteen invented parts of the mixed nesting job, drawn with a solid library: sizes of 9 to 66 mm."""

from __future__ import annotations

import math

import manifold3d
import numpy as np
from manifold3d import CrossSection, Manifold

FINE = 32  # sides of a round


def block(x: float, y: float, z: float) -> Manifold:
    return Manifold.cube([x, y, z])


def rod(height: float, radius: float, top: float | None = None, *, sides: int = FINE) -> Manifold:
    return Manifold.cylinder(height, radius, radius if top is None else top, sides)


def middle_rod(height: float, radius: float) -> Manifold:
    return Manifold.cylinder(height, radius, radius, FINE, True)


def angle() -> Manifold:
    """Two plates at a right angle, three holes, a gusset."""
    body = block(40, 24, 4) + block(4, 24, 32)
    for x in (14, 30):
        body -= rod(10, 3).translate([x, 12, -3])
    body -= rod(10, 3).rotate([0, 90, 0]).translate([-3, 12, 20])
    gusset = Manifold.extrude(CrossSection([[(4, 4), (16, 4), (4, 16)]]), 3)
    return body + gusset.rotate([90, 0, 0]).translate([0, 13.5, 0])


def channel() -> Manifold:
    """A U with a cross bore and a hole in its floor."""
    body = block(30, 20, 24) - block(22, 40, 40).translate([4, -5, 4])
    body -= rod(60, 3.5).rotate([0, 90, 0]).translate([-10, 10, 17])
    return body - rod(20, 2.5).translate([15, 10, -5])


def gear() -> Manifold:
    """Eighteen straight teeth of module 2, with a hub."""
    pitch, tooth = 18.0, 2 * math.pi / 18
    outline = [
        (radius * math.cos(tooth * (n + share)), radius * math.sin(tooth * (n + share)))
        for n in range(18)
        for share, radius in (
            (-0.32, pitch - 2.5),
            (-0.16, pitch + 2),
            (0.16, pitch + 2),
            (0.32, pitch - 2.5),
        )
    ]
    bore = rod(18, 6).translate([0, 0, -1])
    return Manifold.extrude(CrossSection([outline]), 10) - bore + (rod(16, 10) - bore)


def tube() -> Manifold:
    return rod(50, 11) - rod(60, 8).translate([0, 0, -5])


def elbow() -> Manifold:
    """A quarter of a bent pipe with a flange at one end."""

    def bend(radius: float) -> Manifold:
        return Manifold.revolve(CrossSection.circle(radius, 24).translate([18, 0]), 64, 90)

    flange = (rod(3, 12) - rod(9, 5.8).translate([0, 0, -3])).rotate([90, 0, 0]).translate([18, 3, 0])
    return bend(8) - bend(5.8) + flange


def lattice() -> Manifold:
    """Three by three by three body-centred cells between two plates."""
    cell, cells, struts = 9.0, 3, []
    for corner in np.ndindex(cells, cells, cells):
        low = np.array(corner) * cell
        struts += [strut(low + np.array(to) * cell, low + cell / 2) for to in np.ndindex(2, 2, 2)]
    side = cells * cell
    body = Manifold.batch_boolean(struts, manifold3d.OpType.Add) ^ block(side, side, side)
    plate = block(side, side, 1.6)
    return body + plate.translate([0, 0, -0.8]) + plate.translate([0, 0, side - 0.8])


def strut(start: np.ndarray, end: np.ndarray) -> Manifold:
    """A round strut of radius 1.3 from one place to another."""
    along = (end - start) / np.linalg.norm(end - start)
    across = np.cross(along, [1.0, 0, 0] if abs(along[0]) < 0.9 else [0, 1.0, 0])
    across /= np.linalg.norm(across)
    frame = np.stack([across, np.cross(along, across), along, start], axis=1)
    return rod(float(np.linalg.norm(end - start)), 1.3, sides=10).transform(frame)


def flange() -> Manifold:
    body = rod(5, 24) + rod(20, 12, 10)
    for n in range(6):
        body -= rod(12, 2.8).translate([18 * math.cos(n * math.pi / 3), 18 * math.sin(n * math.pi / 3), -3])
    return body - rod(40, 7).translate([0, 0, -5])


def tee() -> Manifold:
    def pipes(radius: float, long: float, short: float) -> Manifold:
        return middle_rod(long, radius) + rod(short, radius).rotate([90, 0, 0])

    return pipes(8, 44, 24) - pipes(5.5, 60, 40)


def nut() -> Manifold:
    return rod(9, 18 / math.sqrt(3), sides=6) - rod(13, 5.2).translate([0, 0, -2])


def lever() -> Manifold:
    outline = CrossSection.circle(9, FINE) + CrossSection.circle(5, FINE).translate([52, 0])
    outline += CrossSection([[(0, -5), (52, -3), (52, 3), (0, 5)]])
    body = Manifold.extrude(outline, 7) - rod(20, 5).translate([0, 0, -5])
    body -= rod(20, 2.5).translate([52, 0, -5])
    return body + (rod(12, 9) - rod(20, 5).translate([0, 0, -4]))


def impeller() -> Manifold:
    body = rod(3, 20) + rod(16, 6)
    for n in range(7):
        blade = block(15, 1.8, 12).rotate([0, 0, 18]).translate([5, 0, 2])
        body += blade.rotate([0, 0, 360 * n / 7])
    return (body ^ middle_rod(40, 20)) - middle_rod(40, 3)


def plate() -> Manifold:
    body = block(46, 30, 2.5)
    for y in (4, 15, 26):
        body += block(46, 2, 8).translate([0, y - 1, 0])
    for x, y in ((10, 9.5), (36, 20.5)):
        body -= rod(20, 4).translate([x, y, -5])
    return body


def hook() -> Manifold:
    bend = Manifold.revolve(CrossSection.circle(3.2, 20).translate([11, 0]), 64, 250)
    return bend + rod(26, 3.2).rotate([90, 0, 0]).translate([11, 0.5, 0])


PARTS = (
    angle, channel, gear, tube, elbow, lattice, flange, tee, nut, lever, impeller, plate, hook,
)  # fmt: skip
