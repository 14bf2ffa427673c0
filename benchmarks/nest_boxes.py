"""Bounding boxes packed by general cuboid and rectangle packers: what nesting by boxes would give."""

from __future__ import annotations

import math

import py3dbp
import rectpack

from sagger.goods.green import Green


def in_layers(parts: tuple[Green, ...], floor: tuple[float, float], gap: float) -> float:
    """Height of bounding boxes in layers of rectangles, tallest first: the lowest of six ways to do it.

    Every box stands with its flattest, its middle or its longest side up; each layer is filled in our order
    (tallest first, so that boxes of a layer are alike) or in the library's own (largest area first).
    """
    ways = ((up, sort) for up in range(3) for sort in (rectpack.SORT_NONE, rectpack.SORT_AREA))
    return min(_layered(parts, floor, gap, up, sort) for up, sort in ways)


def _layered(
    parts: tuple[Green, ...], floor: tuple[float, float], gap: float, up: int, sort: object
) -> float:
    boxes = [sorted(part.part.extent_mm) for part in parts for _ in range(part.part.request.quantity)]
    boxes = [(sides.pop(up), *sides) for sides in boxes]
    left, base = sorted(boxes, reverse=True), 0.0
    while left:
        packer = rectpack.newPacker(sort_algo=sort, rotation=True)
        packer.add_bin(math.floor((floor[0] + gap) * 1e3), math.floor((floor[1] + gap) * 1e3))
        for number, (_, deep, wide) in enumerate(left):
            packer.add_rect(math.ceil((wide + gap) * 1e3), math.ceil((deep + gap) * 1e3), number)
        packer.pack()
        taken = {rid for *_, rid in packer.rect_list()}
        if not taken:
            return math.inf
        base += max(left[number][0] for number in taken) + gap
        left = [box for number, box in enumerate(left) if number not in taken]
    return base - gap


def in_boxes(parts: tuple[Green, ...], floor: tuple[float, float], gap: float) -> float:
    """Lowest height, by halving, in which a general cuboid packer finds room for all bounding boxes."""

    def fits(height: float) -> bool:
        packer = py3dbp.Packer()
        packer.add_bin(py3dbp.Bin("box", floor[0] + gap, floor[1] + gap, height + gap, 1e9))
        for part in parts:
            for copy in range(part.part.request.quantity):
                sides = [length + gap for length in part.part.extent_mm]
                packer.add_item(py3dbp.Item(f"{part.part.digest} {copy}", *sides, 0))
        packer.pack(bigger_first=True)
        return not packer.bins[0].unfitted_items

    low, high = 10.0, 400.0
    while high - low > 2.0:
        middle = (low + high) / 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high
