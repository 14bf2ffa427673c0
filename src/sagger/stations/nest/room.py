"""The part of a box where pieces may lie."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.goods.box import Box
from sagger.goods.green import Green
from sagger.goods.order import Choices


class PlaceWish(NamedTuple):
    """How far off pieces come out over the room, and how much that counts for each part."""

    off: np.ndarray  # float64 (nz, ny, nx), equal cells of the room: 0 in the best, 1 in the worst
    pull: np.ndarray  # float64 (parts,): up to 1 for the tightest, below 0 for the loosest; mean of pieces 0


class NestRoom(NamedTuple):
    """Lengths in mm; the room's lower corner lies at (wall, wall, floor) in the box.

    Everything along z, floor and top included, is `stretch` times as long as in the real box: where the gap
    along z is another than across, one gap then holds in every direction.
    """

    size: tuple[float, float, float]  # free length along x, y and z
    box: tuple[float, float, float]
    gap: float
    wall: float
    floor: float
    top: float
    stretch: float = 1.0
    wish: PlaceWish | None = None  # where pieces should rather lie


def room(box: Box, choices: Choices) -> NestRoom:
    """What the box leaves after the gaps to walls, floor and top.

    Raises
    ------
    StopError
        If the gaps leave nothing, or if pieces could touch.
    """
    asked = choices.nesting
    gap = box.gap.value * 1e3 if choices.gap_mm is None else choices.gap_mm
    gap_z = gap if asked.gap_z_mm is None else asked.gap_z_mm
    if min(gap, gap_z) <= 0:
        raise StopError(
            f"the gap between pieces is {min(gap, gap_z):g} mm, but pieces that touch become one; give a gap "
            f"above 0"
        )
    stretch = gap / gap_z
    wall, ends = box.wall_gap.value * 1e3, box.floor_gap.value * 1e3
    floor, top = ends + asked.empty_below_mm, ends + asked.empty_above_mm
    whole = (box.length_x.value * 1e3, box.length_y.value * 1e3, box.length_z.value * 1e3)
    size = (whole[0] - 2 * wall, whole[1] - 2 * wall, whole[2] - floor - top)
    if min(size) <= 0 or min(wall, floor, top) < 0:
        raise StopError(
            f"box {box.title}: {whole[0]:g} x {whole[1]:g} x {whole[2]:g} mm with {wall:g} mm to the walls, "
            f"{floor:g} mm to the floor and {top:g} mm to the top leaves no room; check box card and choices"
        )
    return NestRoom(
        (size[0], size[1], size[2] * stretch),
        (whole[0], whole[1], whole[2] * stretch),
        gap, wall, floor * stretch, top * stretch, stretch,
    )  # fmt: skip


def stretched(green: Green, stretch: float) -> Green:
    """The part as the room sees it; the same one where nothing is stretched."""
    if stretch == 1.0:
        return green
    return dataclasses.replace(green, maps=np.array([1.0, 1.0, stretch])[:, None] * green.maps)
