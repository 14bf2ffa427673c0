"""Findings about what sags in the furnace, by beam theory, and which support would hold it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy import ndimage
from scipy.constants import g

from sagger.geometry.overhangs import HELD_ONCE, HELD_TWICE, STEPS, Overhangs, overhangs
from sagger.geometry.storeys import ACROSS, Storeys, storeys
from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.goods.order import Request
from sagger.goods.powder import Powder, Sintering
from sagger.goods.shape import Shape
from sagger.physics import chance, sag, tolerance
from sagger.stations.intake.fit import cited, oversize
from sagger.stations.intake.surface import place

PLACES_MOST = 5  # spans told one by one; the rest in one sentence
PROPS_MOST = 9  # pillars under one span
WIDE = 3.0  # a place this many times as wide as its bar is high gets a ledge, not a pillar; common practice
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
    found = overhangs(above)
    if not len(found.stretch):
        none = np.zeros(0, dtype=np.int64)
        return Hanging(above, found, np.zeros(0), none)
    twice, once = found.held == HELD_TWICE, found.held == HELD_ONCE
    each = np.full(found.held.shape, np.inf)
    each[twice] = (span_mm(found.length, found.height, how) * sag.along_span(found.share))[twice]
    each[once] = (overhang_mm(found.length, found.height, how) * sag.along_overhang(found.share))[once]
    sunk = np.zeros(len(found.stretch))
    for turn in range(int(found.round.max()) + 1):
        rows = np.flatnonzero(found.round == turn)
        lent = np.where(found.ends[rows] >= 0, sunk[found.ends[rows]], 0.0).max(axis=2)
        each[rows] += lent  # what holds it has sunk itself
        sunk[rows] = each[rows].min(axis=1)
    beam = np.where(found.round >= 0, each.argmin(axis=1), -1)
    return Hanging(above, found, sunk, beam)


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


def _places(above: Storeys, found: Overhangs) -> ndarray:
    """Middle of each hanging stretch's underside over the grid, float64 (n, 2) [mm]."""
    columns = np.searchsorted(above.first, found.stretch, side="right") - 1
    return np.stack([columns % above.nx, columns // above.nx], axis=1) * above.pitch_mm + above.pitch_mm / 2


def sagging(body: Shape, request: Request, cell: Cell) -> list[Finding]:
    """Each place that sags more than the tolerance at the part's height, with a support; none for sand."""
    card = cell.powder.sintering
    if card is None:
        return []
    how = soft(cell.powder, card)
    found = hanging(body, how)
    allowed = allowed_mm(body, request)
    source = cited(card.capillary_radius)
    spots = _spots(found, allowed)
    if not spots:
        return [_fine(found, allowed, how, source)]
    told = [_spot(row, label, found, allowed, how, cell, source) for row, label in spots[:PLACES_MOST]]
    return told if len(spots) <= PLACES_MOST else [*told, _rest(len(spots) - PLACES_MOST, allowed)]


def allowed_mm(body: Shape, request: Request) -> float:
    """Half width of the tolerance at the part's height [mm]."""
    asked, height = request.tolerance, float(np.ptp(body.vertices[:, 2]))
    if asked.kind == "mm":
        return asked.value
    if asked.kind == "percent":
        return asked.value / 100 * height
    return tolerance.band(height, asked.steps) or THIN_MM


def _spots(found: Hanging, allowed: float) -> list[tuple[int, ndarray]]:
    """Places above `allowed`, worst first: the worst row, and all rows of the place."""
    hot = np.flatnonzero(found.sag_mm > allowed)
    if not len(hot):
        return []
    above = found.above
    columns = np.searchsorted(above.first, found.found.stretch[hot], side="right") - 1
    mask = np.zeros(above.nx * above.ny, dtype=bool)
    mask[columns] = True
    labels, _ = ndimage.label(mask.reshape(above.ny, above.nx), structure=np.ones((3, 3)))
    of_row = labels.ravel()[columns]
    groups = [hot[of_row == label] for label in np.unique(of_row)]
    worst = [(int(rows[np.argmax(found.sag_mm[rows])]), rows) for rows in groups]
    return sorted(worst, key=lambda each: -found.sag_mm[each[0]])


def _fine(found: Hanging, allowed: float, how: Soft, source: str) -> Finding:
    most = float(found.sag_mm.max(initial=0.0))
    text = (
        f"By beam theory nothing sags more than {_mm(most)} in the furnace as the part stands; "
        f"{_mm(allowed)} are allowed."
        if len(found.sag_mm)
        else "Nothing hangs free in the furnace as the part stands."
    )
    at = None if not len(found.sag_mm) else _where(int(np.argmax(found.sag_mm)), found)
    return Finding(
        level="ok", what="sag", text=text, value=most, limit=allowed, unit="mm", at_mm=at, source=source
    )


def _rest(count: int, allowed: float) -> Finding:
    text = f"{count} more places sag more than the {_mm(allowed)} allowed, each less than those told."
    remedy = "Lay the part otherwise, or follow the finite-element run (sag in [choices])."
    return Finding(level="look", what="sag", text=text, limit=allowed, unit="mm", remedy=remedy)


class Bar(NamedTuple):
    """The beam that holds a place."""

    twice: bool
    length_mm: float
    height_mm: float
    step: ndarray  # float64 (2,): along it


class Prop(NamedTuple):
    """A support that would hold a place."""

    number: int
    kind: str  # "pillar" or "ledge"
    left_mm: float  # sag between supports


def _bar(row: int, found: Hanging) -> Bar:
    """The beam that gives most of a place's sag: its own, or one that holds that."""
    beams = found.found
    while True:
        holders = [int(end) for end in beams.ends[row, int(found.beam[row])] if end >= 0]
        lender = max(holders, key=lambda each: found.sag_mm[each], default=-1)
        if lender < 0 or found.sag_mm[lender] < found.sag_mm[row] / 2:
            break
        row = lender
    beam = int(found.beam[row])
    step = STEPS[beam] / np.linalg.norm(STEPS[beam])
    twice = bool(beams.held[row, beam] == HELD_TWICE)
    return Bar(twice, float(beams.length[row, beam]), float(beams.height[row, beam]), step)


def _spot(
    row: int, rows: ndarray, found: Hanging, allowed: float, how: Soft, cell: Cell, source: str
) -> Finding:
    bar, sunk = _bar(row, found), float(found.sag_mm[row])
    kind = "span between two ends" if bar.twice else "overhang"
    doubt = f" (u {_mm(sunk * how.doubt)} from r/α)" if how.doubt else ""
    loose = "; more if its ends can turn" if bar.twice else ""
    sags = f"sags {_mm(sunk)}{doubt} by beam theory{loose}"
    if sunk > bar.height_mm:
        sags = "sinks by more than its own height by beam theory: it gives way"
    text = (
        f"A {bar.length_mm:.1f} mm {kind}, {bar.height_mm:.1f} mm high, {sags}; {_mm(allowed)} are allowed. "
        + _supported(row, found, _prop(bar, rows, found, allowed, how), how, cell)
    )
    return Finding(
        level="look",
        what="sag",
        text=text,
        value=sunk,
        limit=allowed,
        unit="mm",
        at_mm=_where(row, found),
        source=source,
        remedy="Support it so, lay the part otherwise, or thicken it."
        + (" The powder's r/α is not measured: `sagger calibrate`." if how.weak else ""),
    )


def _prop(bar: Bar, rows: ndarray, found: Hanging, allowed: float, how: Soft) -> Prop:
    """As many supports as it takes, evenly along the beam; the sag left between them."""
    count, left = 1, np.inf
    for count in range(1, PROPS_MOST + 1):
        part = bar.length_mm / (count + 1 if bar.twice else count)
        left = float((span_mm if bar.twice else propped_mm)(part, bar.height_mm, how))
        if left <= allowed / 2:
            break
    across = _places(found.above, found.found)[rows] @ np.array([-bar.step[1], bar.step[0]])
    return Prop(count, "ledge" if float(np.ptp(across)) > WIDE * bar.height_mm else "pillar", left)


def _supported(row: int, found: Hanging, prop: Prop, how: Soft, cell: Cell) -> str:
    """What to put below, and the sag with it."""
    gap = cell.powder.least_gap.value * 1e3
    stretch, above = int(found.found.stretch[row]), found.above
    column = int(np.searchsorted(above.first, stretch, side="right") - 1)
    on_part = above.first[column] < stretch
    floor = float(above.top[stretch - 1]) if on_part else 0.0
    tall = (float(above.bottom[stretch]) - floor) * how.k - gap
    kept = prop.left_mm + gap / how.k
    if kept >= found.sag_mm[row] or tall <= 0:
        return f"A support would not help: its release gap of {gap:.2g} mm is as much."
    name = prop.kind if prop.number == 1 else f"{prop.kind}s"
    return (
        f"With {prop.number} {name} of the same powder, {tall:.1f} mm high as printed, on "
        f"{'the part below' if on_part else 'the setter'}, release gap {gap:.2g} mm: {_mm(kept)}, "
        f"{_mm(gap / how.k)} of it the gap."
    )


def _where(row: int, found: Hanging) -> tuple[float, float, float]:
    """Place of a row on the part, at the underside."""
    stretch = found.found.stretch[row]
    x, y = _places(found.above, found.found)[row]
    return place(found.above.low_mm + np.array([x, y, found.above.bottom[stretch]]))


def _mm(value: float) -> str:
    """Two digits are all that beam theory is worth."""
    if value >= 10:
        return f"{value:.0f} mm"
    return f"{value:.1f} mm" if value >= 1 else f"{value:.2g} mm" if value >= 0.01 else f"{value:.3f} mm"
