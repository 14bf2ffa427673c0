"""An exported stack read back and compared with the parts, by another path than the one that drew it.

Sections come from a general solid library, drops from the files; of the drawing only the recipe is used.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good
from sagger.goods.shape import Shape
from sagger.goods.stack import Stack, Treatment
from sagger.stations.layers import sections
from sagger.stations.layers.verdict import Bounds, findings, stray
from sagger.tick import Tick, silent

_MARGIN = 2  # drops around a piece that are looked at
_LOOKED_AT = 24  # layers of each piece whose outline is compared


@good
class Claimed:
    """A piece that the export is said to hold."""

    part: int
    number: int
    shape: Shape  # nominal
    placement: ndarray  # float64 (4, 4): nominal [mm] -> box [mm]
    treatment: Treatment


@good
class Claim:
    """What an export is held against."""

    pitch_mm: tuple[float, float]
    layer_mm: float
    count: int
    columns: int
    rows: int
    bits: int
    missed: tuple[int, ...]  # rows that no nozzle prints are left out of the comparison
    pieces: tuple[Claimed, ...]


@good
class PieceCheck:
    """One piece as its drops would print it, against the compensated part."""

    part: int
    number: int
    volume_mm3: float  # of its drops; grey levels by their share of the largest
    expected_mm3: float  # of the part in its place, less what bleed and depth leave out
    height_error_mm: float  # drops' height less the part's: within a layer if all is well
    edge_bias_mm: float  # mean distance of the drops' edge outside the outline; a core does not count
    deviation_mm: float  # largest distance from the outline of a drop's middle on the wrong side of it
    worst_layer: int  # where that is, from 0; -1 if no outline was met
    looked_at: int  # layers whose outline was compared
    findings: tuple[Finding, ...]  # a limit that is passed is a stop


@good
class Verdict:
    pieces: tuple[PieceCheck, ...]
    strays: int  # drops near no piece
    findings: tuple[Finding, ...]


class _Look(NamedTuple):
    """What one outline said."""

    over_mm2: float  # area of drops less that of the outline
    length_mm: float
    deviation_mm: float
    area_mm2: float  # within the outline
    plain_mm2: float  # of the part's section, before bleed and depth
    layer: int


def claim(stack: Stack) -> Claim:
    """What the export of a stack must hold."""
    treatments = stack.style.treatments
    by_part = treatments if len(treatments) > 1 else treatments * len(stack.layout.greens)
    return Claim(
        pitch_mm=stack.pitch_mm,
        layer_mm=stack.layer_mm,
        count=stack.count,
        columns=stack.columns,
        rows=stack.rows,
        bits=stack.style.bits,
        missed=stack.missed,
        pieces=tuple(
            Claimed(
                part=piece.part,
                number=piece.number,
                shape=stack.layout.greens[piece.part].shape,
                placement=np.asarray(piece.placement, np.float64),
                treatment=by_part[piece.part],
            )
            for piece in stack.layout.pieces
        ),
    )


def verify(
    claim: Claim, images: Iterable[ndarray], *, every_layer: bool = False, tick: Tick = silent
) -> Verdict:
    """What the layers would print, piece by piece.

    Parameters
    ----------
    claim : Claim
        What they are held against.
    images : iterable of uint8 (rows, columns)
        Levels of each layer as read from its file, in order, row 0 at low y.
    every_layer : bool
        Compare the outlines of every layer, not of about two dozen of each piece. Volume and height always
        come from every layer.

    Returns
    -------
    Verdict
        Volume, height, edge bias and largest deviation of each piece; and drops in no piece's bounding box.
        Drops within one drop of another piece's section are taken to be that piece's. What misses a limit is
        a finding: half a drop or half a layer all over for volume, a layer for height, half a drop for the
        bias, a drop's diagonal for the deviation.
    """
    watched = [_Watched(claim, piece, every_layer) for piece in claim.pieces]
    for n, one in enumerate(watched):
        one.near = [other for m, other in enumerate(watched) if m != n and one.meets(other)]
    strays, top = 0, 2**claim.bits - 1
    for k, image in enumerate(tick.over(images, "verifying layers", claim.count)):
        free = image > 0
        for one in watched:
            if one.first <= k <= one.last:
                free[one.rows, one.columns] = False
                one.look(k, image[one.rows, one.columns], top)
        strays += int(np.count_nonzero(free))
    return Verdict(pieces=tuple(one.check() for one in watched), strays=strays, findings=tuple(stray(strays)))


class _Watched:
    """One piece, and what has been seen of it so far."""

    def __init__(self, claim: Claim, piece: Claimed, every_layer: bool):
        self.claim, self.piece = claim, piece
        self.solid = sections.body(piece.shape, piece.placement)
        self.below = round(piece.treatment.depth_mm / claim.layer_mm)
        self.near: list[_Watched] = []
        self.looks: list[_Look] = []
        self.volume, self.lowest, self.highest = 0.0, claim.count, -1
        low, high = np.array(self.solid.bounding_box()[:3]), np.array(self.solid.bounding_box()[3:])
        margin = _MARGIN + math.ceil(max(0.0, -piece.treatment.bleed_mm) / min(claim.pitch_mm))
        begin = np.maximum(np.floor(low[:2] / claim.pitch_mm).astype(int) - margin, 0)
        end = np.ceil(high[:2] / claim.pitch_mm).astype(int) + margin
        self.rows = slice(int(begin[1]), int(min(end[1], claim.rows)))
        self.columns = slice(int(begin[0]), int(min(end[0], claim.columns)))
        first, last = (int(height // claim.layer_mm) for height in (low[2], high[2]))
        self.first, self.last = max(first - 1, 0), min(last + 1, claim.count - 1)
        self.every = 1 if every_layer else max(1, (last - first) // _LOOKED_AT)
        self.x = (np.arange(self.columns.start, self.columns.stop) + 0.5) * claim.pitch_mm[0]
        self.y = (np.arange(self.rows.start, self.rows.stop) + 0.5) * claim.pitch_mm[1]

    def meets(self, other: _Watched) -> bool:
        """Whether the two windows share a drop in some layer."""
        flat = ((self.rows, other.rows), (self.columns, other.columns))
        both = self.first <= other.last and other.first <= self.last
        return both and all(one.start < two.stop and two.start < one.stop for one, two in flat)

    def look(self, k: int, levels: ndarray, top: int) -> None:
        """Take in this piece's window of a layer."""
        for other in self.near:
            if other.first <= k <= other.last:
                levels = self._without(levels, other, k)
        self.volume += float(levels.sum(dtype=np.int64)) / top
        if levels.any():
            self.lowest, self.highest = min(self.lowest, k), k
        if (k - self.first) % self.every == 0:
            self.looks.append(self._compared(k, levels, top))

    def _without(self, levels: ndarray, other: _Watched, k: int) -> ndarray:
        """This piece's window without what belongs to another, where their windows overlap."""
        rows, columns = _shared(self.rows, other.rows), _shared(self.columns, other.columns)
        here = slice(rows.start - self.rows.start, rows.stop - self.rows.start)
        along = slice(columns.start - self.columns.start, columns.stop - self.columns.start)
        if not levels[here, along].any():
            return levels
        x = (np.arange(columns.start - 1, columns.stop + 1) + 0.5) * self.claim.pitch_mm[0]
        y = (np.arange(rows.start - 1, rows.stop + 1) + 0.5) * self.claim.pitch_mm[1]
        theirs = _grown(sections.inside(x, y, other.outline(k)))[1:-1, 1:-1]
        left = levels.copy()
        left[here, along][theirs] = 0
        return left

    def outline(self, k: int) -> sections.Outline:
        """Where drops of layer k must lie."""
        height = (k + 0.5) * self.claim.layer_mm
        return sections.wanted(self.solid, height, self.below * self.claim.layer_mm, self.piece.treatment)

    def _compared(self, k: int, levels: ndarray, top: int) -> _Look:
        outline = self.outline(k)
        solid = sections.inside(self.x, self.y, outline)
        weights, present = levels / top, 2 * levels.astype(np.int16) >= top
        hidden = self._hidden(solid)
        weights, present = np.where(hidden, solid, weights), np.where(hidden, solid, present)
        over = float(weights.sum()) * math.prod(self.claim.pitch_mm) - outline.area
        deviation = sections.farthest(present != solid, solid, self.x, self.y, outline)
        plain = sections.plain(self.solid, (k + 0.5) * self.claim.layer_mm)
        return _Look(over, outline.length, deviation, outline.area, plain.area, k)

    def _hidden(self, solid: ndarray) -> ndarray:
        """Places where a missing drop says nothing: below a full skin, or about a row without nozzle."""
        treatment, pitch = self.piece.treatment, self.claim.pitch_mm
        hidden = np.zeros_like(solid)
        if min(treatment.skin, treatment.core) < 1:
            rim = treatment.skin_mm or 0.0 if treatment.skin == 1 else 0.0
            hidden = solid & (sections.depth(solid, (pitch[1], pitch[0])) > rim - 2 * math.hypot(*pitch))
        for row in self.claim.missed:  # and those beside it, which took its drops
            near = _shared(slice(row - 1, row + 2), self.rows)
            hidden[near.start - self.rows.start : max(near.stop - self.rows.start, 0)] = True
        return hidden

    def check(self) -> PieceCheck:
        claim, treatment = self.claim, self.piece.treatment
        _, _, bottom, _, _, top = self.solid.bounding_box()
        printed = (self.highest + 1 - self.lowest) * claim.layer_mm if self.highest >= 0 else 0.0
        met = [look for look in self.looks if look.length_mm]
        length = sum(look.length_mm for look in met)
        section = sum(look.plain_mm2 for look in self.looks)
        left = sum(look.area_mm2 for look in self.looks) / section if section else 1.0
        worst = max(self.looks, key=lambda look: look.deviation_mm, default=_Look(0, 0, 0.0, 0, 0, -1))
        facts = {
            "volume_mm3": self.volume * math.prod(claim.pitch_mm) * claim.layer_mm,
            "expected_mm3": float(self.solid.volume()) * left,
            "height_error_mm": float(printed - (top - bottom) + self.below * claim.layer_mm),
            "edge_bias_mm": sum(look.over_mm2 for look in met) / length if length else 0.0,
            "deviation_mm": worst.deviation_mm,
        }
        bounds = Bounds(
            pitch_mm=max(claim.pitch_mm),
            diagonal_mm=math.hypot(*claim.pitch_mm),
            layer_mm=claim.layer_mm,
            area_mm2=float(self.solid.surface_area()),
            least=min(treatment.skin, treatment.core),
        )
        return PieceCheck(
            part=self.piece.part,
            number=self.piece.number,
            worst_layer=worst.layer,
            looked_at=len(self.looks),
            findings=findings(facts, worst.layer, bounds),
            **facts,
        )


def _shared(one: slice, other: slice) -> slice:
    return slice(max(one.start, other.start), min(one.stop, other.stop))


def _grown(drops: ndarray) -> ndarray:
    """Drops and their eight neighbours."""
    grown = drops.copy()
    grown[1:] |= drops[:-1]
    grown[:-1] |= drops[1:]
    wide = grown.copy()
    wide[:, 1:] |= grown[:, :-1]
    wide[:, :-1] |= grown[:, 1:]
    return wide
