"""Parts and a full bed for the benchmark of layers: made here from formulas, nothing is read."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from sagger.goods.figure import Figure
from sagger.goods.order import Choices, Request, Tolerance
from sagger.goods.shape import Shape
from sagger.stations import layers

BED_MM = (400.0, 250.0, 250.0)


def shape(mesh):
    """Shape whose lowest point is at z = 0 and whose middle is at x = y = 0."""
    if hasattr(mesh, "to_mesh64"):  # of manifold3d
        raw = mesh.to_mesh64()
        vertices, faces = np.array(raw.vert_properties)[:, :3], np.array(raw.tri_verts)
    else:
        vertices, faces = np.array(mesh.vertices), np.array(mesh.faces)
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    vertices = vertices - [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, low[2]]
    return Shape(vertices=vertices, triangles=faces.astype(np.int32))


def gear():
    """Helical gear of 37 mm with seven holes."""
    import manifold3d

    angle = np.linspace(0, 2 * np.pi, 36 * 6, endpoint=False)
    radius = np.tile([16.0, 16.4, 18.4, 18.5, 16.5, 16.0], 36)
    outline = np.c_[radius * np.cos(angle), radius * np.sin(angle)]
    section = manifold3d.CrossSection([outline]) - manifold3d.CrossSection.circle(4, 180)
    for n in range(6):
        hole = manifold3d.CrossSection.circle(2.9, 180)
        section -= hole.translate((10 * np.cos(n * np.pi / 3), 10 * np.sin(n * np.pi / 3)))
    return shape(manifold3d.Manifold.extrude(section, 12, n_divisions=60, twist_degrees=25))


def gyroid(edge_mm=0.45, size_mm=40.0, cells=3):
    """Sheet gyroid, cut to a cube."""
    import manifold3d

    wave = 2 * np.pi * cells / size_mm

    def inside(x, y, z):
        x, y, z = x * wave, y * wave, z * wave
        return 0.45 - abs(np.sin(x) * np.cos(y) + np.sin(y) * np.cos(z) + np.sin(z) * np.cos(x))

    return shape(manifold3d.Manifold.level_set(inside, (0, 0, 0, size_mm, size_mm, size_mm), edge_mm))


def text():
    """Seven rounded letters, 73 mm in all, joined by nothing."""
    import manifold3d

    strokes = {
        "S": [(6, 12, 1, 12), (1, 12, 1, 7), (1, 7, 6, 7), (6, 7, 6, 1), (6, 1, 1, 1)],
        "A": [(1, 1, 4, 13), (4, 13, 7, 1), (2, 5, 6, 5)],
        "G": [(7, 12, 1, 12), (1, 12, 1, 1), (1, 1, 7, 1), (7, 1, 7, 6), (7, 6, 4, 6)],
        "E": [(7, 12, 1, 12), (1, 12, 1, 1), (1, 1, 7, 1), (1, 7, 5, 7)],
        "R": [(1, 1, 1, 12), (1, 12, 6, 12), (6, 12, 6, 7), (6, 7, 1, 7), (3, 7, 7, 1)],
        "8": [(1, 1, 6, 1), (6, 1, 6, 12), (6, 12, 1, 12), (1, 12, 1, 1), (1, 7, 6, 7)],
        "B": [(1, 1, 6, 1), (6, 1, 6, 12), (6, 12, 1, 12), (1, 12, 1, 1), (1, 6, 6, 6)],
    }
    section = manifold3d.CrossSection()
    for n, lines in enumerate(strokes.values()):
        for x0, y0, x1, y1 in lines:
            across = np.array([y0 - y1, x1 - x0]) / np.hypot(x1 - x0, y1 - y0) * 0.05
            line = np.array([(x0 + 10.4 * n, y0), (x1 + 10.4 * n, y1)])
            bar = manifold3d.CrossSection([np.vstack([line - across, (line + across)[::-1]])])
            section += bar.offset(0.8, manifold3d.JoinType.Round, 2.0, 48)
    return shape(manifold3d.Manifold.extrude(section, 9))


def sphere():
    import trimesh

    return shape(trimesh.creation.icosphere(subdivisions=8, radius=15))


def torus():
    import trimesh

    return shape(trimesh.creation.torus(20, 8, major_sections=512, minor_sections=256))


def cylinder():
    import trimesh

    return shape(trimesh.creation.cylinder(12, 30, sections=1440))


PARTS = {  # maker, columns on the bed, footprint of a column [mm]
    "sphere": (sphere, 13, (31, 31)),
    "torus": (torus, 7, (57, 57)),
    "cylinder": (cylinder, 6, (25, 25)),
    "gear": (gear, 10, (38, 38)),
    "gyroid": (gyroid, 7, (57, 57)),
    "text": (text, 8, (75, 17)),
}


def turned(degrees, at):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    placement = np.eye(4)
    placement[:2, :2] = [[c, -s], [s, c]]
    placement[:3, 3] = at
    return placement


def mixed(count=500, seed=1):
    """Shapes and placements of `count` parts in columns, each with its own turn, place and height."""
    rng = np.random.default_rng(seed)
    shapes = [make() for make, _, _ in PARTS.values()]
    columns = _columns()
    tops = np.full(len(columns), 1.0)
    copies = []
    for _ in range(count):
        column = int(np.argmin(tops))
        kind, x, y = columns[column]
        turn = rng.uniform(-1.5, 1.5) if list(PARTS)[kind] == "text" else rng.uniform(0, 360)
        at = (x + rng.uniform(-0.2, 0.2), y + rng.uniform(-0.2, 0.2), tops[column])
        copies.append((kind, turned(turn, at)))
        tops[column] += np.ptp(shapes[kind].vertices[:, 2]) + rng.uniform(0.5, 1.5)
    return shapes, copies


def _columns():
    """Kind and middle of each column: shelves, largest first."""
    wanted = sorted(
        ((kind, size) for kind, (_, number, size) in enumerate(PARTS.values()) for _ in range(number)),
        key=lambda item: (-item[1][1], item[0]),
    )
    placed, x, y, shelf = [], 1.0, 1.0, 0.0
    for kind, (width, depth) in wanted:
        if x + width > BED_MM[0]:
            x, y, shelf = 1.0, y + shelf, 0.0
        placed.append((kind, x + width / 2, y + depth / 2))
        x, shelf = x + width, max(shelf, depth)
    if y + shelf > BED_MM[1]:
        raise ValueError(f"the columns need {y + shelf:g} mm of {BED_MM[1]:g} mm")
    return placed


def grid(one, pitch_mm=40.0, seed=2):
    """One shape on a grid over the whole bed, each with its own turn and sub-drop place."""
    rng = np.random.default_rng(seed)
    places = [
        (x, y)
        for x in np.arange(pitch_mm / 2, BED_MM[0] - pitch_mm / 2 + 1, pitch_mm)
        for y in np.arange(pitch_mm / 2, BED_MM[1] - pitch_mm / 2 + 1, pitch_mm)
    ]
    copies = [
        (0, turned(rng.uniform(0, 360), (x + rng.uniform(0, 0.1), y + rng.uniform(0, 0.1), 0.0)))
        for x, y in places
    ]
    return [one], copies


def stack(shapes, copies, *, dpi=(1200, 1200), layer_um=50.0):
    """Stack of placed shapes on the bed."""
    tops = [placement[2, 3] + np.ptp(shapes[kind].vertices[:, 2]) for kind, placement in copies]
    names = ("length_x", "length_y", "length_z")
    layout = SimpleNamespace(
        box=SimpleNamespace(
            floor_gap=_figure(0.0),
            **{name: _figure(mm * 1e-3) for name, mm in zip(names, BED_MM, strict=True)},
        ),
        greens=tuple(SimpleNamespace(shape=one, part=SimpleNamespace(request=_REQUEST)) for one in shapes),
        pieces=tuple(SimpleNamespace(part=kind, placement=placement) for kind, placement in copies),
        height_mm=float(max(tops)),
    )
    head = SimpleNamespace(
        bits=1,
        dead_nozzles=(),
        resolution_x=_figure(dpi[0] / 0.0254),
        resolution_y=_figure(dpi[1] / 0.0254),
    )
    return layers.draw(layout, head, None, Choices(layer_um=layer_um, phase_jitter=False))


_REQUEST = Request(name="", file="", unit="mm", quantity=1, tolerance=Tolerance(kind="percent", value=2.0))


def _figure(value):
    return Figure(value=value, u=0.0, printed="", source="benchmark", where="", standing="assumed")
