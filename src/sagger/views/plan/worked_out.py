"""Rows of a good's table that are worked out of its fields."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.drawing import Dimension, GeometricTolerance
from sagger.goods.mould import Contraction
from sagger.goods.order import Tolerance
from sagger.goods.sag import Sag
from sagger.goods.sintered import Sintered
from sagger.goods.timetable import Timetable
from sagger.views.plan.rows import PlanRow, listed, pairs, row, table

MOMENTS = 200  # of the furnace run, evenly picked; the peak is printed apart


class FurnaceCurve(NamedTuple):
    """What a furnace run does, at moments picked from it; float64 (n,) each."""

    time: ndarray  # [s]
    temperature: ndarray  # [K]
    density: ndarray  # [-]
    burnout: ndarray  # [-]


def _picked(sintered: Sintered) -> FurnaceCurve:
    count = len(sintered.time)
    picked = np.unique(np.linspace(0, count - 1, min(count, MOMENTS)).round().astype(int))
    histories = (sintered.time, sintered.temperature, sintered.density, sintered.burnout)
    return FurnaceCurve(*(history[picked] for history in histories))


def _equal(times: Timetable) -> list[tuple[int, int, float]]:
    """Layers of equal time together: first and last of them, from 1, and that time [s]."""
    by_layer = times.by_layer
    firsts = np.flatnonzero(np.diff(by_layer, prepend=np.nan)).tolist()
    ends = [*firsts[1:], len(by_layer)][: len(firsts)]
    return [(first + 1, end, by_layer[first]) for first, end in zip(firsts, ends, strict=True)]


def _limits(line: Dimension) -> tuple[float | None, float | None] | None:
    return None if None in line.limits else line.limits


def _peak(fired: Sintered) -> float:
    return float(np.max(fired.temperature))


def _final_grain(fired: Sintered) -> float | None:
    return None if fired.grain is None else float(fired.grain[-1])


def _mean_layer(times: Timetable) -> float:
    return times.build / max(1, times.layers)


def _checked(sag: Sag) -> int | None:
    return sag.finished.cells if sag.finished else None


def _plus_minus(kind: str) -> PlanRow:
    def read(asked: Tolerance) -> float | None:
        return asked.value if asked.kind == kind else None

    return row(f"plus_minus_{kind}", float, f"if kind is {kind}", read, optional=True)


def _of_source(name: str, meaning: str) -> Iterable[PlanRow]:
    yield row(f"{name}_percent", float, meaning, f"{name}.value", "share")
    yield row(f"{name}_source", str, "key of its source", f"{name}.source")
    yield row(f"{name}_standing", str, "of its source", f"{name}.standing")


_CURVE = table(
    "FurnaceCurve",
    "The furnace run as predicted; four lists of one length.",
    row("time_h", list[float], "from the start of heating", "time", "s"),
    row("temperature_degC", list[float], "of the programme", "temperature", "K"),
    row("relative_density_percent", list[float], "by the law", "density", "share"),
    row("burnout_percent", list[float], "share of the binder gone", "burnout", "share"),
)
_LAYER_TIME = pairs(
    "LayerTime",
    "Layers of equal time that follow each other.",
    row("first", int, "from 1"),
    row("last", int, "from 1"),
    row("layer_s", float, "of each"),
)
_AIR = "air that holds the vapour at a quarter of its lower explosive limit, 20 °C; an estimate, no design"

WORKED_OUT: dict[type, tuple[PlanRow, ...]] = {
    Contraction: (
        *_of_source("used", "on the casting's size; the mould is larger by it"),
        *_of_source("other", "by the other source"),
    ),
    Dimension: (
        row(
            "limits",
            tuple[float, float],
            "least and largest value in its unit; null where the file gives none",
            _limits,
            optional=True,
        ),
    ),
    GeometricTolerance: (row("limits", tuple[float, float], "least and largest value in mm"),),
    Sag: (
        row(
            "cells_checked",
            int,
            "of the grid it was checked on; null if not followed",
            _checked,
            optional=True,
        ),
    ),
    Sintered: (
        row("peak_degC", float, "highest of the programme", _peak, "K"),
        row(
            "final_grain_um",
            float,
            "null where the card has no grain growth",
            _final_grain,
            "m",
            optional=True,
        ),
        row("curve", _CURVE, "the run as predicted", _picked),
    ),
    Timetable: (
        row("mean_layer_s", float, "all layers over their number", _mean_layer),
        row("layer_times", listed(_LAYER_TIME), "layers in order, those of equal time together", _equal),
        row("lamp_power_W", float, "electric, while drying", "drying.lamp_power"),
        row("vapour_g_per_h", float, "flammable solvent released while printing", "drying.vapour", "kg/s"),
        row("ventilation_m3_per_h", float, _AIR, "drying.ventilation", "m3/s"),
    ),
    Tolerance: (_plus_minus("mm"), _plus_minus("percent")),
}
