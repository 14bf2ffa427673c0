"""Small bodies for the solid's checks: boxes cut into cells, held and carried. Lengths in mm, else SI."""

import math
import tomllib
from pathlib import Path

import numpy as np

from sagger.geometry.cells import cutting
from sagger.goods.shape import Shape
from sagger.physics import solid

SOFTNESS = 5e-6 / 1.7  # r / alpha [m2/N]
STEEL = 7950 * 9.81  # [N/m3]
TO_97 = math.log(0.42 / 0.03)  # decay from 0.58 to 0.97
ROWS = tomllib.loads(Path(__file__).with_name("solid_rows.toml").read_text(encoding="utf-8"))["row"]


def meets(what, found):
    """Hold what was found against the row of solid_rows.toml that is called so."""
    (row,) = [each for each in ROWS if each["what"] == what]
    np.testing.assert_allclose(
        found, float(row["expect"]), rtol=row.get("within", 0), atol=row.get("slack", 0)
    )


def box(size, at=(0.0, 0.0, 0.0)):
    corners = np.array([[i, j, k] for k in (0, 1) for j in (0, 1) for i in (0, 1)], float) * size + at
    faces = [(0, 2, 3), (0, 3, 1), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4)]
    faces += [(2, 6, 7), (2, 7, 3), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5)]
    return Shape(vertices=corners, triangles=np.array(faces, dtype=np.int32))


def joined(*shapes):
    """One surface of boxes that touch or not, by a general mesh library."""
    import manifold3d

    whole = manifold3d.Manifold()
    for each in shapes:
        mesh = manifold3d.Mesh(each.vertices.astype(np.float32), each.triangles.astype(np.uint32))
        whole = whole + manifold3d.Manifold(mesh)
    out = whole.to_mesh()
    return Shape(
        vertices=np.asarray(out.vert_properties[:, :3], float), triangles=np.asarray(out.tri_verts, np.int32)
    )


def bracket():
    """T: stem 6 x 12 x 20 mm under a bar of 48 x 12 x 4 mm."""
    return joined(box((6, 12, 24), (21, 0, 0)), box((48, 12, 4), (0, 0, 20)))


def built(shape, pitch, shift=(0.0, 0.0, 0.0)):
    return solid.build(cutting.cells(shape, pitch, shift))


def density(body, value=0.58):
    return np.full(len(body.body.share), value)


def nodes_as_points(body, chosen):
    """Nodes of the grid as points."""
    nodes = body.body.nodes
    brick, corner = np.full(len(body.place), -1), np.zeros(len(body.place), int)
    for a in range(8):
        brick[nodes[:, a]], corner[nodes[:, a]] = np.arange(len(nodes)), a
    which = np.flatnonzero(chosen)
    return solid.Points(brick[which], np.eye(8)[corner[which]])


def on(body, axis, at_mm):
    """Nodes on a plane across an axis."""
    return np.abs(body.place[:, axis] * 1e3 - at_mm) < 1e-6


def stuck(body, fixed, stiffness=1e5):
    """Springs that hold the chosen motions of nodes, bool (n, 3), so many times as stiff as a cell."""
    chosen = fixed.any(axis=1)
    return nodes_as_points(body, chosen), fixed[chosen] * stiffness * body.pitch


def sole(body, x, y, spacing, at_z=0.0):
    """Feet over a rectangle at the height `at_z` [mm]."""
    count = [max(1, math.ceil((side[1] - side[0]) / spacing)) for side in (x, y)]
    along = [
        side[0] + (np.arange(n) + 0.5) * (side[1] - side[0]) / n
        for side, n in zip((x, y), count, strict=True)
    ]
    u, v = np.meshgrid(*along, indexing="ij")
    place = np.column_stack([u.ravel(), v.ravel(), np.full(u.size, at_z)]) * 1e-3
    up = np.broadcast_to([0.0, 0.0, 1.0], place.shape)
    area = (x[1] - x[0]) * (y[1] - y[0]) * 1e-6 / len(place)
    return solid.Feet(body.points(place, up), np.full(len(place), area))


def droop(pitch, steps=8, decay=TO_97, shift=(0.3, 0.3, 0.0), **setting):
    """How far the arm tips of the bracket sag below its middle [mm], and what came out."""
    body = built(bracket(), pitch, shift)
    feet = sole(body, (21, 27), (0, 12), pitch / 2)
    places = np.array([[0.02, 6.0, 20.02], [47.98, 6.0, 20.02], [24.0, 6.0, 23.98]])
    probe = body.points(places * 1e-3, np.array([[1.0, 0, 0], [-1, 0, 0], [0, 0, -1]]))
    course = setting.pop("course", solid.plain(decay, SOFTNESS))
    out = solid.fire(
        body,
        solid.GreenBricks(body.place, density(body)),
        solid.FiringSetting(course, STEEL, steps=steps, **setting),
        feet=feet,
    )
    z = solid.carried(probe, body.body.nodes, out.place)[:, 2] * 1e3
    return z[2] - z[:2].mean() - 3.96 * out.shrunk[2], out
