"""What hangs free of a part on its setter, and how far it sinks in the furnace by beam theory."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.constants import g

from sagger.geometry.wall.overhangs import HELD_ONCE, HELD_TWICE, Overhangs, overhangs
from sagger.geometry.wall.storeys import ACROSS, Storeys, storeys
from sagger.goods.order import Request
from sagger.goods.powder import Powder, Sintering
from sagger.goods.shape import Shape
from sagger.physics.sintering import sag
from sagger.stations.intake.fit import oversize
from sagger.statistics import chance, tolerance

THIN_MM = 0.1  # allowed where the order states no tolerance at the part's height; common practice, no source


class Soft(NamedTuple):
    """How the powder gives way, and how large the part is while it does."""

    law: sag.Yielding
    k: float  # green over finished length
    doubt: float  # relative standard uncertainty of r / alpha
    weak: bool  # r / alpha rests on memory or assumption


class Hanging(NamedTuple):
    """What hangs in one stance, and how far it sags."""

    above: Storeys
    found: Overhangs
    sag_mm: ndarray  # float64 (n,) at each hanging stretch, on the finished part
    beam: ndarray  # int64 (n,): direction of the beam that holds it best; -1 where nothing does


def soft(powder: Powder, card: Sintering) -> Soft:
    """The powder's way of sagging from its card."""
    radius, surface = card.capillary_radius, card.surface_energy
    law = sag.yielding(
        card.green_density.value,
        card.sintered_density.value,
        powder.solid_density.value * g,
        radius.value / surface.value,
    )
    doubt = chance.combined((radius.u / radius.value, surface.u / surface.value))
    return Soft(law, oversize(powder), doubt, radius.weak)


def hanging(body: Shape, how: Soft, across: int = ACROSS) -> Hanging:
    """Everything that hangs when the shape stands on a setter as it is, with its sag.

    A stretch is held by the stiffest of the four beams through it. Ends count as built in: a plate is stiffer
    than its beams, legs that turn are softer. What holds an end may hang itself; its sag is added.
    """
    above = storeys(body, across)
    beams = overhangs(above)
    if not len(beams.stretch):
        none = np.zeros(0, dtype=np.int64)
        return Hanging(above, beams, np.zeros(0), none)
    twice, once = beams.held == HELD_TWICE, beams.held == HELD_ONCE
    sags = np.full(beams.held.shape, np.inf)
    sags[twice] = (span_mm(beams.length, beams.height, how) * sag.along_span(beams.share))[twice]
    sags[once] = (overhang_mm(beams.length, beams.height, how) * sag.along_overhang(beams.share))[once]
    sunk = np.zeros(len(beams.stretch))
    for turn in range(int(beams.round.max()) + 1):
        rows = np.flatnonzero(beams.round == turn)
        lent = np.where(beams.ends[rows] >= 0, sunk[beams.ends[rows]], 0.0).max(axis=2)
        sags[rows] += lent  # what holds it has sunk itself
        sunk[rows] = sags[rows].min(axis=1)
    beam = np.where(beams.round >= 0, sags.argmin(axis=1), -1)
    return Hanging(above, beams, sunk, beam)


def span_mm(length: ndarray | float, height: ndarray | float, how: Soft) -> ndarray:
    """Sag in the middle of a bar built in at both ends, lengths and sag on the finished part [mm]."""
    return _sunk(sag.CLAMPED, length, height, how)


def overhang_mm(length: ndarray | float, height: ndarray | float, how: Soft) -> ndarray:
    """Sag at the free end of an overhang, lengths and sag on the finished part [mm]."""
    return _sunk(sag.OVERHANG, length, height, how)


def propped_mm(length: ndarray | float, height: ndarray | float, how: Soft) -> ndarray:
    """Sag of a bar built in at one end that rests on the other, lengths and sag on the finished part [mm]."""
    return _sunk(sag.PROPPED, length, height, how)


def _sunk(hold: sag.Hold, length: ndarray | float, height: ndarray | float, how: Soft) -> ndarray:
    """Sag [mm] = finished length x (bending L^3 / h^2 + shear L), L and h green [m]."""
    long, tall = np.asarray(length) * how.k * 1e-3, np.asarray(height) * how.k * 1e-3
    with np.errstate(divide="ignore", invalid="ignore"):
        over = hold.bending * how.law.bending * long**3 / tall**2 + hold.shear * how.law.shear * long
    return np.asarray(np.where(tall > 0, over * np.asarray(length), 0.0))


def allowed_mm(body: Shape, request: Request) -> float:
    """Half width of the tolerance at the part's height [mm]."""
    asked, height = request.tolerance, float(np.ptp(body.vertices[:, 2]))
    if asked.kind == "mm":
        return asked.value
    if asked.kind == "percent":
        return asked.value / 100 * height
    return tolerance.band(height, asked.steps) or THIN_MM
