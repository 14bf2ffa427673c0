"""How the pieces of a job share furnace runs."""

from __future__ import annotations

from sagger.goods.good import good


@good
class TrayFit:
    """How one part stands on trays, at green size plus the room it needs to retract."""

    part: int
    quantity: int
    footprint: tuple[float, float]  # [m]
    height: float  # [m]
    per_tray: int
    trays: int


@good
class Load:
    fits: tuple[TrayFit, ...]
    trays: int
    trays_per_run: int
    runs: int
    fill: float  # trays used over trays offered in the runs [-]
