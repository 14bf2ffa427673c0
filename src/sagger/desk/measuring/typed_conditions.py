"""Conditions of factors as a person types them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sagger import units
from sagger.desk.measuring.conditions import StatedConditions
from sagger.errors import InputError
from sagger.goods.factors import Factors

KINDS = {
    "layer": "length",
    "saturation": "pure",
    "peak": "temperature",
    "hold": "time",
    "rate": "heating_rate",
    "green_density": "pure",
    "density": "pure",
}
TEXTS = ("lot", "binder", "head", "box", "furnace", "atmosphere")
Triple = tuple[float, float, float]


def factors(material: str, k: Triple, u: Triple, lot: str = "") -> Factors:
    """Factors typed by hand, for every lot or for one."""
    return Factors(k=np.array(k), u=np.array(u), material=material, lot=lot, origin="approved")


def stated(cells: Mapping[str, str], job: int | None = None) -> StatedConditions:
    """Conditions from texts with units, by the names of `StatedConditions`; "" = not said.

    Raises
    ------
    InputError
        If a text has no number or a wrong unit, a share lies outside 0 to 1, or words stand beside a job.
    """
    typed = {name: text.strip() for name, text in cells.items() if text.strip()}
    beside = sorted(set(typed) - {"green_density", "density"})
    if job is not None and beside:
        what = f"the plan of job {job} says {', '.join(beside)} itself"
        raise InputError(what, field=beside[0], value=typed[beside[0]], remedy="Leave it out, or the job.")
    read = {name: _value(name, text) for name, text in typed.items() if name in KINDS}
    return StatedConditions(
        job=job,
        lot=typed.get("lot", ""),
        binder=typed.get("binder", ""),
        head=typed.get("head", ""),
        box=typed.get("box", ""),
        furnace=typed.get("furnace", ""),
        atmosphere=typed.get("atmosphere", ""),
        layer=read.get("layer"),
        saturation=read.get("saturation"),
        peak=read.get("peak"),
        hold=read.get("hold"),
        rate=read.get("rate"),
        green_density=read.get("green_density"),
        density=read.get("density"),
    )


def _value(name: str, text: str) -> float:
    try:
        value = units.read(text, KINDS[name])
    except InputError as wrong:
        raise InputError(wrong.what, field=name, value=text, remedy=wrong.remedy) from None
    if not 0 < value <= (1 if name.endswith("density") else np.inf):
        raise InputError("this must be above 0, and a relative density at most 100 %", field=name, value=text)
    return value
