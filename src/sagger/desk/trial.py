"""A small job that runs every kernel: two blocks, from part file to traveller, nothing written."""

from __future__ import annotations

from typing import Any

import numpy as np

from sagger import cards, line
from sagger.files import tiff
from sagger.goods.job import Job
from sagger.goods.order import Choices, Order, Request, Tolerance
from sagger.goods.shape import PartFile, Shape
from sagger.stations import layers
from sagger.views import traveller

CORNERS = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], float)
FACES = np.array(
    [
        [0, 2, 3], [0, 3, 1], [4, 5, 7], [4, 7, 6], [0, 1, 5], [0, 5, 4],
        [2, 6, 7], [2, 7, 3], [0, 4, 6], [0, 6, 2], [1, 3, 7], [1, 7, 5],
    ],
    np.int32,
)  # fmt: skip


def run() -> Job:
    """The job as the line leaves it."""
    requests = tuple(
        Request(
            name=name,
            file=f"{name}.stl",
            unit="mm",
            quantity=2,
            tolerance=Tolerance(kind="percent", value=2.0),
            orientations="upright",
        )
        for name in ("block", "plate")
    )
    order = Order(
        name="trial",
        shop="trial",
        start="2030-01-07T08:00",
        requests=requests,
        choices=Choices(layer_um=500.0),
    )
    files = tuple(
        _block(request.file, size) for request, size in zip(requests, ((8, 9, 10), (20, 12, 4)), strict=True)
    )
    job = line.run(order, files, cards.cell(cards.DEFAULTS), None, _plainly, layers.count)
    cautions, weak = cards.cautions(job.cell), cards.weak(job.cell)
    traveller.sheet(job, 0, cautions, weak, "0" * 32)
    layers.warm()
    tiff.warm()
    return job


def _plainly(verb: Any, *inputs: Any) -> Any:
    return verb(*inputs)


def _block(name: str, size_mm: tuple[float, float, float]) -> PartFile:
    shape = Shape(vertices=CORNERS * size_mm, triangles=FACES)
    return PartFile(name=name, digest=name, format="STL", unit="mm", unit_from="order", shape=shape)
