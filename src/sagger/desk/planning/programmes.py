"""Programmes of oven and furnace as a job was planned with them, and how far its oven and furnace go."""

from __future__ import annotations

from pathlib import Path

from sagger.desk.planning import history
from sagger.desk.planning.orders import named
from sagger.goods.good import good
from sagger.goods.plain import Table
from sagger.goods.powder import Segment
from sagger.units import into


@good
class Programmes:
    """Stretches as an order file writes them, [[oven_programme]] and [[furnace_programme]]."""

    oven: list[Table]
    furnace: list[Table]  # empty for sand
    oven_most: float  # highest set point of the oven [°C]
    furnace_most: float  # highest temperature of the furnace [°C]; 0 = there is none


def programmes(job: int) -> Programmes | None:
    """Of the order if it says them, else of its cards; None if the desk does not keep the order."""
    version = history.version(job)
    if version is None:
        return None
    cell = named(Path(version.folder) / "order.toml")[1]
    oven: list[Table] = [
        {
            "rate": stretch.rate.printed,
            "target": stretch.target.printed,
            "hold": stretch.hold.printed,
        }
        for stretch in cell.binder.programme
    ]
    law, furnace = cell.powder.sintering, cell.furnace
    fired = law is not None and furnace is not None
    return Programmes(
        oven=oven,
        furnace=[_written(each) for each in law.programme] if law and furnace else [],
        oven_most=_celsius(cell.oven.temperature.value),
        furnace_most=_celsius(furnace.temperature.value) if fired and furnace else 0.0,
    )


def _written(segment: Segment) -> Table:
    return {
        "stage": segment.stage,
        "rate": f"{into(segment.rate, 'K/min'):.6g} K/min",
        "target": f"{_celsius(segment.target):g} degC",
        "hold": f"{into(segment.hold, 'min'):.6g} min",
        "atmosphere": segment.atmosphere,
    }


def _celsius(kelvin: float) -> float:
    return float(f"{into(kelvin, 'degC'):.8g}")
