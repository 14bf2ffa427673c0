"""Parts made by hand for the furnace, and the furnace they go through."""

import dataclasses

import manifold3d
import numpy as np
import trimesh

import furnace_goods as made
from sagger.geometry.cells import cutting, warp
from sagger.geometry.surface import mesh
from sagger.stations.sinter import shape as sinter_shape
from sagger.stations.sinter.firing import firing
from sagger.stations.sinter.shape import GRIDS, MOST_EDGE, ShapeRun, checked, sintering, unrelated
from sagger.stations.sinter.stand import standing
from sagger.tick import silent

FURNACE = made.furnace(friction=0.3)


def joined(*boxes):
    """One surface of boxes (size, corner)."""
    whole = manifold3d.Manifold()
    for size, at in boxes:
        whole = whole + manifold3d.Manifold.cube(size).translate(at)
    out = whole.to_mesh()
    return mesh.shape(out.vert_properties[:, :3], out.tri_verts)


def table(span=24.0):
    """A plate on a stem, sagging at both ends."""
    return joined(((5, 8, 10), (span / 2 - 2.5, 0, 0)), ((span, 8, 3), (0, 0, 10)))


def bracket():
    """T: stem 6 x 12 x 20 mm under a bar of 48 x 12 x 4 mm."""
    return joined(((6, 12, 24), (21, 0, 0)), ((48, 12, 4), (0, 0, 20)))


def deform(green, powder, furnace, method="quick", uneven=None):
    """The part, pre-deformed or not, as it comes out of the furnace on a grid that it was not bent on."""
    half = np.ptp(green.shape.vertices @ green.maps[0].T, axis=0) / 2 * 1e-3
    hottest = 0.0 if uneven is None else float(np.abs(np.array(uneven.temperature)) @ half)
    run = ShapeRun(firing(powder, sintering(powder), furnace, green.factors, hottest), uneven)
    nominal, _ = standing(green.part.shape, green.part.turns[0])
    now, _ = standing(green.shape, green.part.turns[0])
    pitch = cutting.pitch_for(nominal, GRIDS[method].checked, green.part.volume_mm3)
    if green.sag is not None and green.sag.finished is not None:
        target = np.asarray(green.sag.finished.nominal)
    else:
        now = warp.divided(now, MOST_EDGE * pitch)
        target = now.vertices
    full = mesh.shape(now.vertices * green.factors.k, now.triangles)
    return checked(full, target, unrelated(pitch), run, silent)


def tube():
    """30 mm wide, 3 mm thick, 20 mm long, on its side."""
    ring = trimesh.creation.annulus(12, 15, 20, sections=96)
    ring.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, (1, 0, 0)))
    return mesh.shape(ring.vertices - [0, 0, ring.vertices[:, 2].min()], ring.faces)


def hook():
    """A foot under one end of a long arm: it tips over."""
    return joined(((3, 6, 8), (0, 0, 0)), ((30, 6, 4), (0, 0, 8)))


def clip(gap):
    """An arm over a ledge, both on one root."""
    return joined(((20, 6, 3), (0, 0, 0)), ((4, 6, 3 + gap + 1), (0, 0, 0)), ((20, 6, 1.6), (0, 0, 3 + gap)))


def green(shape, **changes):
    part = made.part(size=tuple(np.ptp(shape.vertices, axis=0)))
    part = dataclasses.replace(part, shape=shape, volume_mm3=mesh.volume(shape))
    return made.green(part, made.factors(k=changes.get("k", (1.1923, 1.1923, 1.2278))))


def coarse(monkeypatch):
    """Parts on few cells: what is told does not hang on them."""
    monkeypatch.setitem(sinter_shape.GRIDS, "quick", sinter_shape.Grids(400, 800))
