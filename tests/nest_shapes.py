"""Parts and boxes for the nesting tests: every size here is invented, only what must hold is checked."""

from __future__ import annotations

import dataclasses
import itertools

import manifold3d
import numpy as np
import trimesh

from sagger.goods.box import Box
from sagger.goods.factors import Factors
from sagger.goods.figure import Figure
from sagger.goods.green import Green
from sagger.goods.layout import Layout
from sagger.goods.order import Request, Tolerance
from sagger.goods.part import Part
from sagger.goods.shape import Shape

FIXED = np.eye(3)[None]
TURNS = np.array(
    [
        turn
        for order in itertools.permutations(range(3))
        for signs in itertools.product((1.0, -1.0), repeat=3)
        if np.linalg.det(turn := np.eye(3)[list(order)] * signs) > 0
    ]
)
UPRIGHT = np.array([turn for turn in TURNS if turn[2, 2] == 1.0])


def figure(value: float) -> Figure:
    return Figure(value=value, u=0.0, printed="", source="hand", where="here", standing="assumed")


def box(size: tuple[float, float, float], gap: float, wall: float = 0.0, floor: float = 0.0) -> Box:
    """A box with these lengths in mm."""
    named = dict(zip(("length_x", "length_y", "length_z"), size, strict=True))
    named |= {"gap": gap, "wall_gap": wall, "floor_gap": floor}
    values = {
        field.name: figure(named.get(field.name, 0.0) * 1e-3) if "kind" in field.metadata else "a test box"
        for field in dataclasses.fields(Box)
    }
    return Box(**values)


def green(
    name: str,
    mesh: trimesh.Trimesh,
    quantity: int,
    turns: np.ndarray = FIXED,
    k: tuple[float, float, float] = (1.0, 1.0, 1.0),
    due: str = "",
) -> Green:
    """A part to be printed, with its oversize factors along machine axes."""
    shape = Shape(vertices=np.asarray(mesh.vertices, float), triangles=np.asarray(mesh.faces, np.int32))
    asked = Request(
        name=name, file=name, unit="mm", quantity=quantity, tolerance=Tolerance(kind="mm", value=0.1), due=due
    )
    part = Part(
        request=asked, digest=name, shape=shape, volume_mm3=float(mesh.volume), area_mm2=float(mesh.area),
        extent_mm=tuple(mesh.extents), thickest_mm=1.0, turns=turns, healed=(), findings=(),
    )  # fmt: skip
    factors = Factors(k=np.array(k), u=np.zeros(3), material="none", origin="card")
    return Green(part=part, shape=shape, factors=factors, maps=np.diag(k) @ turns)


def brick(x: float, y: float, z: float) -> trimesh.Trimesh:
    return trimesh.creation.box(extents=(x, y, z))


def angle(x: float, z: float, deep: float, wall: float) -> trimesh.Trimesh:
    """An L of two plates."""
    foot = brick(x, deep, wall).apply_translation((x / 2, 0, wall / 2))
    back = brick(wall, deep, z).apply_translation((wall / 2, 0, z / 2))
    return trimesh.boolean.union([foot, back], engine="manifold")


def solids(layout: Layout) -> list[manifold3d.Manifold]:
    """The pieces as another library sees them."""
    out = []
    for piece in layout.pieces:
        shape = layout.greens[piece.part].shape
        mesh = manifold3d.Mesh64(shape.vertices.copy(), shape.triangles.astype(np.uint64))
        out.append(manifold3d.Manifold(mesh).transform(piece.placement[:3].copy()))
    return out


def least_gap(layout: Layout, within: float) -> float:
    """Smallest distance between two pieces by manifold3d, at most `within`; 0 if they overlap."""
    pieces = solids(layout)
    pairs = list(itertools.combinations(pieces, 2))
    overlap = max(((a ^ b).volume() for a, b in pairs), default=0.0)
    return 0.0 if overlap > 1e-9 else min((a.min_gap(b, within) for a, b in pairs), default=within)
