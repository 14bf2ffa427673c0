"""What gauges, plugs and plates meet: corners of raw drops and crests of stairs, not the mean of a face."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.drawing import ExactFace
from sagger.physics.drops import drop_lattice, stairs
from sagger.stations.promise.drawn_rows import DrawnRows
from sagger.stations.promise.edges_doubt import UP
from sagger.stations.promise.source import SHOP, DoubtSource, even
from sagger.statistics import chance

RAW = "raw drops"
SIGNS = {"least": -1.0, "most": 1.0}  # a plug is smaller, a ring is larger
CONTACT = ("inscribed", "circumscribed", "envelope")  # operators of sizes between faces that touch crests
ALONG, FLAT = 0.999, 0.999  # of a direction along an axis of the machine


def shifts(rows: DrawnRows) -> ndarray:
    """Half of what raw drops and layers take from each row, float64 (rows,) [mm].

    Bleeding and sintering smooth them by what is not known here: from nothing to all of it is left.
    """
    return _taken(rows) / 2


def doubts(rows: DrawnRows) -> Iterator[DoubtSource]:
    """That half, either way; one source for a shop, as its drops bleed alike."""
    taken = _taken(rows)
    if np.any(taken):
        yield DoubtSource(RAW, RAW, SHOP, chance.rectangular(1.0) * taken / 2, even)


def _taken(rows: DrawnRows) -> ndarray:
    return np.asarray(rows.of(lambda i: _crests(rows, i)) + _plugs(rows))


def _crests(rows: DrawnRows, i: int) -> ndarray:
    """How far crests stand out of the faces of a size that touches them [mm]; flat faces have none."""
    normals, asked = rows.normals[i], rows.asked[i]
    if asked.rule != "each" or asked.operator not in CONTACT:
        return np.zeros(len(normals))
    steps = (*rows.stack.pitch_mm, rows.stack.layer_mm)
    sizes = np.abs(normals)
    crest = np.zeros(len(normals))
    for axis, step in enumerate(steps):  # of layers and of rows of drops, each by the slope from it
        leaning = rows.flat[i] & (sizes[:, axis] > math.sqrt(1 - FLAT**2)) & (sizes[:, axis] < FLAT)
        for row in np.flatnonzero(leaning).tolist():
            slope = math.acos(min(float(sizes[row, axis]), 1.0))
            crest[row] += stairs.stairs(step * 1e-3, slope).crest * 1e3 / rows.k[axis]
    return crest


def _plugs(rows: DrawnRows) -> ndarray:
    """How much smaller a plug and larger a ring is than its bore or pin, on the diameter [mm]."""
    drawing = rows.green.part.drawing
    faces = {face.number: face for face in drawing.faces} if drawing is not None else {}
    taken = np.zeros(len(rows.spans))
    for i, group in enumerate(rows.groups(0)):
        asked = rows.asked[i]
        face = faces.get(int(asked.faces[0])) if asked.rule in SIGNS else None
        if face is not None:
            taken[group] = SIGNS[asked.rule] * 2 * _loss_mm(rows, face)
    return taken


def _loss_mm(rows: DrawnRows, face: ExactFace) -> float:
    """On the finished radius; nothing of an axis that leans, whose section is not a lattice's."""
    section = lattice_across(rows, face)
    if section is None:
        return 0.0
    radius = face.radius_mm * section.k * 1e-3
    if radius <= max(section.pitch):
        return face.radius_mm
    loss = _loss(radius, *section.pitch)
    layers_differ = section.axis == UP and rows.stack.jitter  # then some layer lies at the worst place
    return (loss.most if layers_differ else loss.mean) * 1e3 / section.k


class LatticeAcross(NamedTuple):
    """The lattice that a bore or pin is drawn on, across its axis."""

    axis: int  # of the machine, that its own lies along
    pitch: tuple[float, float]  # of drops both ways, or of drops and layers [m]
    k: float  # green over finished length, both ways together


def lattice_across(rows: DrawnRows, face: ExactFace) -> LatticeAcross | None:
    """None where the axis leans in the machine."""
    along = np.abs(np.asarray(rows.green.part.turns[rows.turn]) @ np.asarray(face.along, dtype=float))
    axis = int(np.argmax(along))
    if face.kind != "cylinder" or along[axis] < ALONG * np.linalg.norm(along):
        return None
    steps = (*rows.stack.pitch_mm, rows.stack.layer_mm)
    one, other = (at for at in range(3) if at != axis)
    return LatticeAcross(axis, (steps[one] * 1e-3, steps[other] * 1e-3), float(rows.k[[one, other]].mean()))


@cache
def _loss(radius: float, across: float, along: float) -> drop_lattice.PlugLoss:
    return drop_lattice.plug_loss(radius, (across, along))
