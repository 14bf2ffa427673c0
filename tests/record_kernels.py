"""Writes which kernels are compiled ahead: `make kernels`, after a kernel or what calls it was changed.

The example orders are planned in an empty home, then a small job of two blocks is that asks for what they do
not; what is compiled meanwhile is written down, callees first. Takes some minutes.
"""

from __future__ import annotations

import dataclasses
import sys
import tempfile
import types
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numba.core import event
from numba.core.dispatcher import Dispatcher

from sagger import cards, line
from sagger.compiled import code
from sagger.desk.pictures import render
from sagger.desk.planning import plan, signatures, warm
from sagger.files import tiff
from sagger.geometry import raster
from sagger.goods.box import Box
from sagger.goods.green import Green
from sagger.goods.learned import Approved
from sagger.goods.order import Choices, Nesting, Order, Request, Tolerance
from sagger.goods.shape import PartFile, Shape
from sagger.goods.stack import Style, Treatment
from sagger.stations import layers, nest
from sagger.views.paper import traveller

ROOT = Path(__file__).parents[1]
EXAMPLES = ("metal", "sand-core", "alumina")
HEAD = """\
# Kernels that are compiled ahead, each after those that stand behind its name, and what for.
# Made by `make kernels`; do not edit.

[example jobs]
"""
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
SOME, LOT = 45, 30  # pieces of each of two kinds, in courses; of one kind, enough to be stacked by rule
SMALL = "box-160x65x65"
PITCH_MM = (0.1, 0.1)  # as told in the files; drawn is with the head's own

Used = dict[str, tuple[Any, list[str]]]  # by name: the kernel, and all that it is compiled for


class Recorder(event.Listener):
    """The kernels of this program that were compiled, callees first."""

    def __init__(self) -> None:
        self.used: Used = {}

    def on_start(self, event: Any) -> None:
        pass

    def on_end(self, event: Any) -> None:
        kernel = event.data["dispatcher"]
        if kernel.py_func.__module__.startswith("sagger."):
            note(self.used, kernel, event.data["args"])


def note(used: Used, kernel: Any, arguments: tuple[Any, ...]) -> None:
    """Write down what a kernel is compiled for."""
    _, takes = used.setdefault(name(kernel), (kernel, []))
    takes.append(signatures.written(arguments))


def name(kernel: Any) -> str:
    return f"{kernel.py_func.__module__}.{kernel.py_func.__name__}".removeprefix("sagger.")


def callees(kernel: Any) -> set[str]:
    """Names of all kernels that one calls, and that those call."""
    found: dict[str, Any] = {}
    open_ends = [kernel]
    while open_ends:
        for called in _called(open_ends.pop().py_func):
            if name(called) not in found:
                found[name(called)] = called
                open_ends.append(called)
    return found.keys() - {name(kernel)}


def _called(function: Callable[..., Any]) -> Iterator[Any]:
    words = function.__code__.co_names
    for word in words:
        value = function.__globals__.get(word)
        inside = [getattr(value, each, None) for each in words] if isinstance(value, types.ModuleType) else []
        yield from (one for one in (value, *inside) if isinstance(one, Dispatcher))


def examples(into: Path) -> None:
    """Plan the example orders, and look at a layer as the bench does."""
    for order in EXAMPLES:
        plan.plan(ROOT / "examples" / f"order-{order}.toml", into / order)


def rest() -> None:
    """Two blocks from part file to traveller, through the furnace, drawn in every style; and a picture.

    Then they are nested as an order may ask for beyond the usual: over the whole box, and as a lot.
    """
    order = _order()
    files = tuple(
        _block(request.file, size)
        for request, size in zip(order.requests, ((8, 9, 10), (20, 12, 4)), strict=True)
    )
    job = line.run(order, files, cards.cell(cards.DEFAULTS), Approved(), line.plainly, layers.count)
    traveller.sheet(job, 0, cards.cautions(job.cell), cards.weak(job.cell), "0" * 32)
    render.warm()
    for style in STYLES:
        stack = dataclasses.replace(job.builds[0].stack, style=style)
        for _ in layers.drawn(stack, lambda _, sheet: tiff.encode_sheet(sheet, tiff.LayerForm(PITCH_MM))):
            pass
    for compression in tiff.CODES:
        drop = raster.from_image(np.eye(3, dtype=bool))
        tiff.encode(drop, tiff.LayerForm(PITCH_MM, compression=compression))

    _nested(job.builds[0].layout.greens, cards.load("box", SMALL))


def _nested(greens: tuple[Green, ...], box: Box) -> None:
    some = tuple(_many(green, SOME) for green in greens)
    nest.pack(some, box, Choices(nesting=Nesting(improve=1, lift="sideways")))
    nest.pack((_many(greens[0], LOT),), box, Choices())


def _many(green: Green, quantity: int) -> Green:
    request = dataclasses.replace(green.part.request, quantity=quantity)
    return dataclasses.replace(green, part=dataclasses.replace(green.part, request=request))


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


def lines(used: Used, known: set[str]) -> Iterator[str]:
    """The list's lines for these kernels; `known` are all whose names stand in the list."""
    for key, (kernel, takes) in used.items():
        yield " ".join((key, *sorted(callees(kernel) & known)))
        yield from (f"  {taken}" for taken in takes)


def main() -> None:
    if any(code.home().iterdir()):
        sys.exit("something is compiled already: run this by `make kernels`")
    plan.warmed = lambda tick: None
    found = []
    with tempfile.TemporaryDirectory() as folder:
        for job in (lambda: examples(Path(folder)), rest):
            with event.install_listener("numba:compile", Recorder()) as recorder:
                job()
            found.append(recorder.used)
    known = {key for used in found for key in used}
    text = [*lines(found[0], set(found[0])), "", warm.REST, *lines(found[1], known)]
    warm.LISTED.write_text(HEAD + "\n".join(text) + "\n", "utf-8")
    print(*(f"{len(used)} kernels" for used in found), sep=", then ", file=sys.stderr)


if __name__ == "__main__":
    main()
