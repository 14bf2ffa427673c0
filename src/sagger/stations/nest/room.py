"""The part of a box where pieces may lie."""

from __future__ import annotations

from typing import NamedTuple

from sagger.errors import StopError
from sagger.goods.box import Box
from sagger.goods.order import Choices


class Room(NamedTuple):
    """Lengths in mm; the room's lower corner lies at (wall, wall, floor) in the box."""

    size: tuple[float, float, float]  # free length along x, y and z
    box: tuple[float, float, float]
    gap: float
    wall: float
    floor: float


def room(box: Box, choices: Choices) -> Room:
    """What the box leaves after the gaps to walls, floor and top.

    Raises
    ------
    StopError
        If the gaps leave nothing, or if pieces could touch.
    """
    gap = box.gap.value * 1e3 if choices.gap_mm is None else choices.gap_mm
    wall, floor = box.wall_gap.value * 1e3, box.floor_gap.value * 1e3
    whole = (box.length_x.value * 1e3, box.length_y.value * 1e3, box.length_z.value * 1e3)
    size = (whole[0] - 2 * wall, whole[1] - 2 * wall, whole[2] - 2 * floor)
    if gap <= 0:
        raise StopError(
            f"the gap between pieces is {gap:g} mm, but pieces that touch become one; give a gap above 0"
        )
    if min(size) <= 0 or min(wall, floor) < 0:
        raise StopError(
            f"box {box.title}: {whole[0]:g} x {whole[1]:g} x {whole[2]:g} mm with {wall:g} mm to the walls "
            f"and {floor:g} mm to floor and top leaves no room; check the box card"
        )
    return Room(size, whole, gap, wall, floor)
