"""How the pieces of a job share furnace runs."""

from __future__ import annotations

from sagger.goods.good import good, holds


@good
class TrayFit:
    """How one part stands on trays, at green size; it shrinks within its own outline."""

    part: int = holds("index into `parts`")
    quantity: int = holds("pieces in the furnace")
    footprint: tuple[float, float] = holds("of one piece", "m")
    height: float = holds("of one piece", "m")
    per_tray: int = holds("if it had trays of its own")
    trays: int = holds("on which it stands, shared or not")
    mass: float = holds("of one green piece, binder included", "kg", default=0.0)


@good
class Tray:
    """What stands on one setter."""

    pieces: tuple[tuple[int, int], ...] = holds("what stands on it")  # part, and how many of it
    shelves: int = holds("taken: more than one where a piece reaches into the next")
    mass: float = holds("of the green pieces on it", "kg")
    run: int = holds("furnace run, from 1")


@good
class Load:
    """How the pieces share furnace runs."""

    fits: tuple[TrayFit, ...] = holds("how each part stands on trays")
    trays: int = holds("in all runs")
    trays_per_run: int = holds("that the furnace takes")
    runs: int = holds("of the furnace")
    fill: float = holds("shelves used over shelves offered", "share")
    each: tuple[Tray, ...] = holds("what stands on each tray", default=())
