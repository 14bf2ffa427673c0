"""Findings about how a part stands on its setter: whether it tips, and where it would sag least."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import mesh
from sagger.geometry.wall.footing import TOUCHES_MM, Footing, footing
from sagger.geometry.wall.storeys import ACROSS
from sagger.goods.cell import Cell
from sagger.goods.figure import cited
from sagger.goods.finding import Against, Finding, advice, loss, ok
from sagger.goods.furnace import Furnace
from sagger.goods.order import Request
from sagger.goods.shape import Shape
from sagger.stations.intake.fit import oversize
from sagger.stations.intake.hanging import Soft, allowed_mm, hanging, soft
from sagger.stations.intake.surface import place
from sagger.stations.intake.turns import rotation

SIDES = ((90, 0, 0), (270, 0, 0), (180, 0, 0), (0, 90, 0), (0, 270, 0))  # down, besides as filed [deg]
GLANCE = 90  # cells across, to compare sides
QUARTERS = (0.0, 90.0, 180.0, 270.0)
LESS = 0.7  # another stance is named if it sags less than this share
WHAT = "orientation on setter"


class Stance(NamedTuple):
    """One way to lay the part on a setter."""

    turn: ndarray  # float64 (3, 3), from the way it is filed
    foot: Footing
    sag_mm: float

    @property
    def stands(self) -> bool:
        """It neither tips nor rolls."""
        return self.foot.hold > 0 and self.foot.breadth > TOUCHES_MM


def standing(body: Shape, request: Request, cell: Cell) -> Finding | None:
    """Whether it tips over as filed, and which of the six sides down sags least; none for sand."""
    card = cell.powder.sintering
    if card is None or cell.furnace is None:
        return None
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
        return _tips(filed, best, request)
    allowed = allowed_mm(body, request)
    against = Against(filed.sag_mm, allowed, "mm", cited(card.capillary_radius))
    if best is None or filed.sag_mm <= allowed or best.sag_mm > LESS * filed.sag_mm:
        tips = f"{filed.foot.hold:.1f} mm from tipping"
        return ok(WHAT, f"As filed it stands on its setter, {tips}; no side sags much less.", against)
    gives_way = filed.sag_mm > np.ptp(body.vertices[:, 2])  # then beam theory has no more to say
    sags = "part of it gives way" if gives_way else f"it sags {filed.sag_mm:.2g} mm at most"
    text = (
        f"As filed {sags} in the furnace; {_as_laid(best, request)} it would sag {best.sag_mm:.2g} mm "
        "(beam theory)."
    )
    remedy = "Turn it in the order (that turns it in the box too), or support it."
    return advice(WHAT, text, against._replace(value=None) if gives_way else against, remedy)


def _stance(body: Shape, turn: ndarray, how: Soft, across: int) -> Stance:
    laid = mesh.mapped(body, turn)
    return Stance(turn, footing(laid), float(hanging(laid, how, across).sag_mm.max(initial=0.0)))


def sags_mm(body: Shape, turns: ndarray, cell: Cell) -> ndarray | None:
    """Largest sag in each orientation, float64 (t,) by beam theory [mm]; None where nothing is sintered."""
    card = cell.powder.sintering
    if card is None:
        return None
    how, by_side = soft(cell.powder, card), {}
    for turn in turns:  # what lies below decides, not the quarter turns about z
        side = tuple(np.round(turn[2], 9) + 0.0)
        if side not in by_side:
            laid = mesh.mapped(body, turn)
            by_side[side] = float(hanging(laid, how, GLANCE).sag_mm.max(initial=0.0))
    return np.array([by_side[tuple(np.round(turn[2], 9) + 0.0)] for turn in turns])


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
    against = Against(foot.hold, 0.0, "mm", "centre of mass over the hull of what touches")
    remedy = "Turn it in the order (that turns it in the box too), or bed it in a setter of its shape."
    return loss(WHAT, f"{text}{better}", against, remedy, at_mm=place(foot.centre))


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
