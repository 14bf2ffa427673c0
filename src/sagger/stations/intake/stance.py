"""Findings about how a part stands on its setter: whether it tips, and where it would sag least."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry import mesh
from sagger.geometry.footing import TOUCHES_MM, Footing, footing
from sagger.geometry.storeys import ACROSS
from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.order import Request
from sagger.goods.shape import Shape
from sagger.stations.intake.fit import cited, oversize
from sagger.stations.intake.sag import Soft, allowed_mm, hanging, soft
from sagger.stations.intake.surface import place
from sagger.stations.intake.turns import rotation

SIDES = ((90, 0, 0), (270, 0, 0), (180, 0, 0), (0, 90, 0), (0, 270, 0))  # down, besides as filed [deg]
GLANCE = 90  # cells across, to compare sides
QUARTERS = (0.0, 90.0, 180.0, 270.0)
LESS = 0.7  # another stance is named if it sags less than this share


class Stance(NamedTuple):
    """One way to lay the part on a setter."""

    turn: ndarray  # float64 (3, 3), from the way it is filed
    foot: Footing
    sag_mm: float

    @property
    def stands(self) -> bool:
        """It neither tips nor rolls."""
        return self.foot.hold > 0 and self.foot.breadth > TOUCHES_MM


def standing(body: Shape, request: Request, cell: Cell) -> list[Finding]:
    """Whether it tips over as filed, and which of the six sides down sags least; none for sand."""
    card = cell.powder.sintering
    if card is None or cell.furnace is None:
        return []
    how = soft(cell.powder, card)
    filed = _stance(body, np.eye(3), how, ACROSS)
    others = [_stance(body, rotation(side), how, GLANCE) for side in SIDES]
    stable = [
        each for each in others if each.stands and _fits(body, each.turn, cell.furnace, oversize(cell.powder))
    ]
    best = min(stable, key=lambda each: each.sag_mm, default=None)
    if best is not None:  # a finer look at the one that is named
        best = _stance(body, best.turn, how, ACROSS)
    if not filed.stands:
        return [_tips(filed, best, request)]
    allowed, source = allowed_mm(body, request), cited(card.capillary_radius)
    sunk = f"{filed.sag_mm:.2g} mm"
    if best is None or filed.sag_mm <= allowed or best.sag_mm > LESS * filed.sag_mm:
        return [_stands(filed, allowed, source)]
    text = (
        f"As filed it sags {sunk} at most in the furnace; {_as_laid(best, request)} it would sag "
        f"{best.sag_mm:.2g} mm (beam theory)."
    )
    return [
        Finding(
            level="look",
            what="orientation on setter",
            text=text,
            value=filed.sag_mm,
            limit=allowed,
            unit="mm",
            source=source,
            remedy="Turn it in the order (that turns it in the box too), or support it.",
        )
    ]


def _stance(body: Shape, turn: ndarray, how: Soft, across: int) -> Stance:
    laid = mesh.mapped(body, turn)
    return Stance(turn, footing(laid), float(hanging(laid, how, across).sag_mm.max(initial=0.0)))


def sags_mm(body: Shape, turns: ndarray, cell: Cell) -> ndarray | None:
    """Largest sag in each orientation, float64 (t,) by beam theory [mm]; None where nothing is sintered."""
    card = cell.powder.sintering
    if card is None:
        return None
    how, found = soft(cell.powder, card), {}
    for turn in turns:  # what lies below decides, not the quarter turns about z
        side = tuple(np.round(turn[2], 9) + 0.0)
        if side not in found:
            laid = mesh.mapped(body, turn)
            found[side] = float(hanging(laid, how, GLANCE).sag_mm.max(initial=0.0))
    return np.array([found[tuple(np.round(turn[2], 9) + 0.0)] for turn in turns])


def _stands(filed: Stance, allowed: float, source: str) -> Finding:
    text = f"As filed it stands on its setter, {filed.foot.hold:.1f} mm from tipping; no side sags much less."
    what = "orientation on setter"
    return Finding(
        level="ok", what=what, text=text, value=filed.sag_mm, limit=allowed, unit="mm", source=source
    )


def _fits(body: Shape, turn: ndarray, furnace: Furnace, k: float) -> bool:
    """Whether the part goes on a tray so, at green size."""
    size = np.ptp(body.vertices @ turn.T, axis=0) * k * 1e-3
    free = sorted(side.value - 2 * furnace.tray_edge.value for side in (furnace.tray_x, furnace.tray_y))
    flat = all(want <= have for want, have in zip(sorted(size[:2]), free, strict=True))
    return bool(flat and size[2] <= furnace.shelf_height.value)


def _tips(filed: Stance, best: Stance | None, request: Request) -> Finding:
    foot = filed.foot
    if foot.breadth <= TOUCHES_MM:
        text = "As filed it rests on a line or a point of its setter and may roll or tip over in the furnace."
    else:
        text = (
            f"As filed it tips over on its setter: its centre of mass lies {-foot.hold:.2f} mm outside what "
            "it stands on."
        )
    better = f" It stands {_as_laid(best, request)}." if best is not None else ""
    return Finding(
        level="look",
        what="orientation on setter",
        text=f"{text}{better}",
        value=foot.hold,
        limit=0.0,
        unit="mm",
        at_mm=place(foot.centre),
        source="centre of mass over the hull of what touches",
        remedy="Turn it in the order (that turns it in the box too), or bed it in a setter of its shape.",
    )


def _as_laid(stance: Stance, request: Request) -> str:
    """The order's words for a stance."""
    x, y, z = angles_deg(stance.turn @ rotation(request.rotation_deg))
    return f"with turn = [{x:g}, {y:g}, {z:g}]"


def angles_deg(turn: ndarray) -> tuple[float, float, float]:
    """Angles about x, then y, then z that make a rotation, quarter turns where they do [deg]."""
    quarters = [(x, y, z) for x in QUARTERS for y in QUARTERS for z in QUARTERS]
    for angles in sorted(quarters, key=np.count_nonzero):  # the fewest turns first
        if np.allclose(rotation(angles), turn, rtol=0, atol=1e-9):
            return angles
    from scipy.spatial.transform import Rotation

    x, y, z = (round(float(angle), 3) for angle in Rotation.from_matrix(turn).as_euler("xyz", degrees=True))
    return x, y, z
