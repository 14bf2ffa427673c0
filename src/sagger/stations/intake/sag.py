"""Findings about what sags in the furnace, by beam theory, and which support would hold it."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy import ndimage

from sagger.geometry.wall.overhangs import HELD_TWICE, STEPS, Overhangs
from sagger.geometry.wall.storeys import Storeys
from sagger.goods.cell import Cell
from sagger.goods.figure import cited
from sagger.goods.finding import Against, Finding, loss, ok, risk
from sagger.goods.order import Request
from sagger.goods.shape import Shape
from sagger.stations.intake.hanging import Hanging, Soft, allowed_mm, hanging, propped_mm, soft, span_mm
from sagger.stations.intake.surface import place

PLACES_MOST = 5  # kinds of spans told one by one; of the rest only how many
ALIKE = 0.1  # two spans no farther apart in length and height are told as one kind
PROPS_MOST = 9  # pillars under one span
WIDE = 3.0  # a place this many times as wide as its bar is high gets a ledge, not a pillar; common practice


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


def sagging(body: Shape, request: Request, cell: Cell) -> Finding | None:
    """The place that sags most, with a support, and which others sag too far as well; None for sand."""
    card = cell.powder.sintering
    if card is None:
        return None
    how, allowed, source = soft(cell.powder, card), allowed_mm(body, request), cited(card.capillary_radius)
    hangs = hanging(body, how)
    spots = _spots(hangs, allowed)
    if not spots:
        return _fine(hangs, allowed, source)
    row, rows = spots[0]
    bar, sunk = _bar(row, hangs), float(hangs.sag_mm[row])
    doubt = f" (u {_mm(sunk * how.doubt)} from r/α)" if how.doubt else ""
    loose = "; more if its ends can turn" if bar.twice else ""
    sags = f"sags {_mm(sunk)}{doubt} by beam theory{loose}"
    if gives_way := sunk > bar.height_mm:
        sags = "sinks by more than its own height by beam theory: it gives way"
    support = _supported(row, hangs, _prop(bar, rows, hangs, allowed, how), how, cell)
    text = f"A {_named(bar)}, {sags}; {_mm(allowed)} are allowed. {support}{_others(spots, hangs)}"
    remedy = "Support it so, lay the part otherwise, or thicken it."
    if how.weak:
        remedy += " The powder's r/α is not measured: `sagger calibrate`."
    bad = loss if gives_way else risk
    against = Against(None if gives_way else sunk, allowed, "mm", source)  # what gives way has no sag to tell
    also = tuple(_where(other, hangs) for other, _ in spots[1:])
    return dataclasses.replace(bad("sag", text, against, remedy, at_mm=_where(row, hangs)), also_mm=also)


def _named(bar: Bar) -> str:
    kind = "span between two ends" if bar.twice else "overhang"
    return f"{bar.length_mm:.1f} mm {kind}, {bar.height_mm:.1f} mm high"


def _others(spots: list[tuple[int, ndarray]], hangs: Hanging) -> str:
    """Places beside the worst, those alike counted; empty if there are none."""
    kinds: list[tuple[Bar, float, int]] = []  # the worst of each kind, its sag, and how many
    for row, _ in spots[1:]:
        bar = _bar(row, hangs)
        same = next((at for at, (first, _, _) in enumerate(kinds) if _alike(bar, first)), None)
        if same is None:
            kinds.append((bar, float(hangs.sag_mm[row]), 1))
        else:
            kinds[same] = (*kinds[same][:2], kinds[same][2] + 1)
    clauses = [
        f"{f'{count} × ' if count > 1 else ''}{_named(bar)}: "
        f"{'gives way' if sunk > bar.height_mm else _mm(sunk)}"
        for bar, sunk, count in kinds[:PLACES_MOST]
    ]
    if rest := sum(count for _, _, count in kinds[PLACES_MOST:]):
        clauses.append(f"{rest} more that sag less")
    return f" Too far as well: {'; '.join(clauses)}." if clauses else ""


def _alike(bar: Bar, other: Bar) -> bool:
    long, high = bar.length_mm / other.length_mm, bar.height_mm / other.height_mm
    return bar.twice == other.twice and max(abs(long - 1), abs(high - 1)) < ALIKE


def _spots(hangs: Hanging, allowed: float) -> list[tuple[int, ndarray]]:
    """Places above `allowed`, worst first: the worst row, and all rows of the place."""
    hot = np.flatnonzero(hangs.sag_mm > allowed)
    if not len(hot):
        return []
    above = hangs.above
    columns = np.searchsorted(above.first, hangs.found.stretch[hot], side="right") - 1
    mask = np.zeros(above.nx * above.ny, dtype=bool)
    mask[columns] = True
    labels, _ = ndimage.label(mask.reshape(above.ny, above.nx), structure=np.ones((3, 3)))
    of_row = labels.ravel()[columns]
    groups = [hot[of_row == label] for label in np.unique(of_row)]
    worst = [(int(rows[np.argmax(hangs.sag_mm[rows])]), rows) for rows in groups]
    return sorted(worst, key=lambda each: -hangs.sag_mm[each[0]])


def _fine(hangs: Hanging, allowed: float, source: str) -> Finding:
    most = float(hangs.sag_mm.max(initial=0.0))
    text = (
        f"By beam theory nothing sags more than {_mm(most)} in the furnace as the part stands; "
        f"{_mm(allowed)} are allowed."
        if len(hangs.sag_mm)
        else "Nothing hangs free in the furnace as the part stands."
    )
    at = None if not len(hangs.sag_mm) else _where(int(np.argmax(hangs.sag_mm)), hangs)
    return ok("sag", text, Against(most, allowed, "mm", source), at_mm=at)


def _bar(row: int, hangs: Hanging) -> Bar:
    """The beam that gives most of a place's sag: its own, or one that holds that."""
    beams = hangs.found
    while True:
        holders = [int(end) for end in beams.ends[row, int(hangs.beam[row])] if end >= 0]
        lender = max(holders, key=lambda each: hangs.sag_mm[each], default=-1)
        if lender < 0 or hangs.sag_mm[lender] < hangs.sag_mm[row] / 2:
            break
        row = lender
    beam = int(hangs.beam[row])
    step = STEPS[beam] / np.linalg.norm(STEPS[beam])
    twice = bool(beams.held[row, beam] == HELD_TWICE)
    return Bar(twice, float(beams.length[row, beam]), float(beams.height[row, beam]), step)


def _prop(bar: Bar, rows: ndarray, hangs: Hanging, allowed: float, how: Soft) -> Prop:
    """As many supports as it takes, evenly along the beam; the sag left between them."""
    count, left = 1, np.inf
    for count in range(1, PROPS_MOST + 1):
        part = bar.length_mm / (count + 1 if bar.twice else count)
        left = float((span_mm if bar.twice else propped_mm)(part, bar.height_mm, how))
        if left <= allowed / 2:
            break
    across = _places(hangs.above, hangs.found)[rows] @ np.array([-bar.step[1], bar.step[0]])
    return Prop(count, "ledge" if float(np.ptp(across)) > WIDE * bar.height_mm else "pillar", left)


def _supported(row: int, hangs: Hanging, prop: Prop, how: Soft, cell: Cell) -> str:
    """What to put below, and the sag with it."""
    gap = cell.powder.least_gap.value * 1e3
    stretch, above = int(hangs.found.stretch[row]), hangs.above
    column = int(np.searchsorted(above.first, stretch, side="right") - 1)
    on_part = above.first[column] < stretch
    floor = float(above.top[stretch - 1]) if on_part else 0.0
    tall = (float(above.bottom[stretch]) - floor) * how.k - gap
    left_mm = prop.left_mm + gap / how.k
    if left_mm >= hangs.sag_mm[row] or tall <= 0:
        return f"A support would not help: its release gap of {gap:.2g} mm is as much."
    name = prop.kind if prop.number == 1 else f"{prop.kind}s"
    return (
        f"With {prop.number} {name} of the same powder, {tall:.1f} mm high as printed, on "
        f"{'the part below' if on_part else 'the setter'}, release gap {gap:.2g} mm: {_mm(left_mm)}, "
        f"{_mm(gap / how.k)} of it the gap."
    )


def _places(above: Storeys, found: Overhangs) -> ndarray:
    """Middle of each hanging stretch's underside over the grid, float64 (n, 2) [mm]."""
    columns = np.searchsorted(above.first, found.stretch, side="right") - 1
    return np.stack([columns % above.nx, columns // above.nx], axis=1) * above.pitch_mm + above.pitch_mm / 2


def _where(row: int, hangs: Hanging) -> tuple[float, float, float]:
    """Place of a row on the part, at the underside."""
    stretch = hangs.found.stretch[row]
    x, y = _places(hangs.above, hangs.found)[row]
    return place(hangs.above.low_mm + np.array([x, y, hangs.above.bottom[stretch]]))


def _mm(value: float) -> str:
    """Two digits are all that beam theory is worth."""
    if value >= 10:
        return f"{value:.0f} mm"
    return f"{value:.1f} mm" if value >= 1 else f"{value:.2g} mm" if value >= 0.01 else f"{value:.3f} mm"
