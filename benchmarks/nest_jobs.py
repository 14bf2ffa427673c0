"""What the nesting benchmarks share: parts without oversize, a box of any size, an exact solid."""

from __future__ import annotations

import dataclasses
import itertools

import manifold3d
import numpy as np
from nest_parts import PARTS

from sagger.goods.box import Box
from sagger.goods.factors import Factors
from sagger.goods.figure import Figure
from sagger.goods.green import Green
from sagger.goods.order import Request, Tolerance
from sagger.goods.part import Part
from sagger.goods.shape import Shape


def turns24() -> np.ndarray:
    signed = itertools.product(itertools.permutations(range(3)), itertools.product((1.0, -1.0), repeat=3))
    turns = [np.eye(3)[list(order)] * np.array(signs)[:, None] for order, signs in signed]
    return np.array([turn for turn in turns if np.linalg.det(turn) > 0])


def green(name: str, vertices: np.ndarray, triangles: np.ndarray, count: int, turns: np.ndarray) -> Green:
    shape = Shape(vertices=np.asarray(vertices, float), triangles=np.asarray(triangles, np.int32))
    asked = Request(
        name=name, file=name, unit="mm", quantity=count, tolerance=Tolerance(kind="mm", value=0.1)
    )
    size = tuple(float(length) for length in np.ptp(shape.vertices, axis=0))
    part = Part(
        request=asked, digest=name, shape=shape, volume_mm3=0.0, area_mm2=0.0, extent_mm=size,
        thickest_mm=1.0, turns=turns, healed=(), findings=(),
    )  # fmt: skip
    factors = Factors(k=np.ones(3), u=np.zeros(3), material="none", origin="card")
    return Green(part=part, shape=shape, factors=factors, maps=turns)


def card(size: tuple[float, float, float], gap: float, wall: float) -> Box:
    named = dict(zip(("length_x", "length_y", "length_z"), size, strict=True)) | {
        "gap": gap,
        "wall_gap": wall,
    }
    figures = {
        field.name: Figure(
            value=named.get(field.name, 0.0) * 1e-3,
            u=0.0,
            printed="",
            source="",
            where="",
            standing="assumed",
        )
        for field in dataclasses.fields(Box)
        if "kind" in field.metadata
    }
    return Box(name="bench", title="bench", **figures)


def mixed(count: int) -> tuple[Green, ...]:
    """The job of 13 kinds in equal numbers."""
    parts = []
    for number, draw in enumerate(PARTS):
        mesh, copies = draw().to_mesh(), count // 13 + (1 if number < count % 13 else 0)
        parts.append(green(draw.__name__, mesh.vert_properties[:, :3], mesh.tri_verts, copies, turns24()))
    return tuple(parts)


def lot(draw: object, count: int) -> tuple[Green, ...]:
    """Copies of one part in 24 orientations."""
    mesh = draw().to_mesh()
    return (green(draw.__name__, mesh.vert_properties[:, :3], mesh.tri_verts, count, turns24()),)


def solid(vertices: np.ndarray, triangles: np.ndarray) -> manifold3d.Manifold:
    return manifold3d.Manifold(manifold3d.Mesh64(vertices.copy(), triangles.astype(np.uint64)))


def short_by(layout: object) -> float:
    """By how much manifold3d finds the smallest gap short of what was asked [um]."""
    bodies, boxes = [], []
    for piece in layout.pieces:
        shape = layout.greens[piece.part].shape
        at = shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
        bodies.append(solid(at, shape.triangles))
        boxes.append((at.min(axis=0), at.max(axis=0)))
    least, near = np.inf, layout.gap_mm + 0.5
    for a, b in itertools.combinations(range(len(bodies)), 2):
        if (boxes[a][0] < boxes[b][1] + near).all() and (boxes[b][0] < boxes[a][1] + near).all():
            least = min(least, bodies[a].min_gap(bodies[b], near))
    return max(0.0, (layout.gap_mm - least) * 1e3)
