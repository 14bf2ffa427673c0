"""How the pieces of a job share furnace runs."""

from __future__ import annotations

from sagger.goods.good import good


@good
class TrayFit:
    """How one part stands on trays, at green size: a piece shrinks within its own outline."""

    part: int
    quantity: int
    footprint: tuple[float, float]  # [m]
    height: float  # [m]
    per_tray: int  # if it had trays of its own
    trays: int  # on which it stands, shared or not
    mass: float = 0.0  # of one green piece, binder included [kg]


@good
class Tray:
    """What stands on one setter."""

    pieces: tuple[tuple[int, int], ...]  # part, and how many of it
    shelves: int  # taken: more than one where a piece reaches into the next
    mass: float  # [kg]
    run: int  # furnace run, from 1


@good
class Load:
    fits: tuple[TrayFit, ...]
    trays: int
    trays_per_run: int
    runs: int
    fill: float  # shelves used over shelves offered in the runs [-]
    each: tuple[Tray, ...] = ()
