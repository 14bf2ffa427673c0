"""A small job that runs every kernel: two blocks, from part file to traveller, nothing written."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np

from sagger import cards, line
from sagger.files import tiff
from sagger.geometry import ways
from sagger.goods.job import Job
from sagger.goods.learned import Approved
from sagger.goods.order import Choices, Order, Request, Tolerance
from sagger.goods.shape import PartFile, Shape
from sagger.goods.stack import Style, Treatment
from sagger.stations import layers
from sagger.tick import Tick, silent
from sagger.views import traveller

CORNERS = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], float)
FACES = np.array(
    [
        [0, 2, 3], [0, 3, 1], [4, 5, 7], [4, 7, 6], [0, 1, 5], [0, 5, 4],
        [2, 6, 7], [2, 7, 3], [0, 4, 6], [0, 6, 2], [1, 3, 7], [1, 7, 5],
    ],
    np.int32,
)  # fmt: skip


STYLES = (
    Style(treatments=(Treatment(bleed_mm=0.05, depth_mm=0.5, skin_mm=1.0, core=0.5),)),
    Style(treatments=(Treatment(skin_mm=1.0, core=0.5),), bits=2),
)
DOING = "compiling, once on this machine"
PITCH_MM = (0.1, 0.1)  # as told in the files; drawn is with the head's own


def run(*, tick: Tick = silent) -> Job:
    """The job as the line leaves it; its first box is drawn once more in every style."""
    order = _order()
    files = tuple(
        _block(request.file, size)
        for request, size in zip(order.requests, ((8, 9, 10), (20, 12, 4)), strict=True)
    )

    def make(verb: Any, *inputs: Any) -> Any:
        tick.say(DOING)
        return verb(*inputs)

    job = line.run(order, files, cards.cell(cards.DEFAULTS), Approved(), make, layers.count)
    tick.say(DOING)
    cautions, weak = cards.cautions(job.cell), cards.weak(job.cell)
    traveller.sheet(job, 0, cautions, weak, "0" * 32)
    layers.warm()
    ways.warm()
    tiff.warm()
    for style in STYLES:
        tick.say(DOING)
        stack = dataclasses.replace(job.builds[0].stack, style=style)
        for _ in layers.each(stack, lambda _, sheet: tiff.encode_sheet(sheet, pitch_mm=PITCH_MM)):
            pass
    return job


def _order() -> Order:
    requests = tuple(
        Request(
            name=name,
            file=f"{name}.stl",
            unit="mm",
            quantity=2,
            tolerance=Tolerance(kind="percent", value=2.0),
            orientations="upright",
            sag=sag,
        )
        for name, sag in (("block", "factors"), ("plate", "quick"))
    )
    return Order(
        name="trial",
        shop="trial",
        start="2030-01-07T08:00",
        requests=requests,
        choices=Choices(layer_um=500.0),
    )


def _block(name: str, size_mm: tuple[float, float, float]) -> PartFile:
    shape = Shape(vertices=CORNERS * size_mm, triangles=FACES)
    return PartFile(name=name, digest=name, format="STL", unit="mm", unit_from="order", shape=shape)
