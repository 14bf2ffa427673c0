"""What the program would have foretold of a measured run, by the verbs that plans call."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger import cards
from sagger.desk.home import card_folders
from sagger.errors import SaggerError
from sagger.goods.bed import Bed
from sagger.goods.figure import Figure
from sagger.goods.furnace import Furnace
from sagger.goods.lot import Lot, SizeCurve
from sagger.goods.order import Choices
from sagger.goods.powder import Powder, Segment, Sintering
from sagger.goods.scored import ForetoldRun, Given, MeasuredRun
from sagger.physics.powder import grains
from sagger.stations import bed, mould, sinter
from sagger.statistics import chance, draws

SEED = 1
DRAWS = 1024
KELVIN = 273.15
GRAMS, MICRON = 1e3, 1e-6  # kg/m3 in a g/cm3, m in a µm
USUAL_HOLD = Given(value=60.0, assumed=True)  # min; where a paper tells no hold
HALF_OR_TWICE = math.log(2) / math.sqrt(3)  # u of the logarithm of a hold that nobody told; assumed
FURNACES = {"metal": "metal-batch", "ceramic": "ceramic-batch"}
SHARES = tuple(0.5 + step / 20 for step in range(-9, 10))  # at which a lognormal curve is handed on
SOLID_SHARES = ("sintered density", "green density", "bed packing")
SHRINKAGES = {f"linear shrinkage {axis}": place for place, axis in enumerate("xyz")}


class Forecast(NamedTuple):
    """A forecast as draws; `u` None where the program states none."""

    value: float
    u: float | None
    draws: ndarray
    notes: str


class Unforetold(Exception):
    """A row that the program cannot foretell; says why."""


def foretold(run: MeasuredRun) -> ForetoldRun:
    """A run beside its forecast; with the reason in place of it where there is none."""
    law = LAWS.get(run.quantity)
    try:
        if law is None:
            raise Unforetold(f"the program does not foretell {run.quantity} from a row")
        forecast = law(run)
    except (Unforetold, SaggerError) as fault:
        return ForetoldRun(run=run, foretold=None, u=None, low=None, high=None, z=None, why=str(fault))
    if forecast.u is None:
        return ForetoldRun(
            run=run, foretold=forecast.value, u=None, low=None, high=None, z=None, why="no uncertainty stated"
        )
    noise = run.measured_u * draws.normal(len(forecast.draws), 1, SEED)[:, 0]
    values = forecast.draws + noise
    low, high = draws.interval(np.minimum(values, 1.0) if run.quantity in SOLID_SHARES else values)
    z = (run.measured - forecast.value) / chance.combined((forecast.u, run.measured_u))
    return ForetoldRun(
        run=run, foretold=forecast.value, u=forecast.u, low=low, high=high, z=z, why=forecast.notes
    )


def _sintered_density(run: MeasuredRun) -> Forecast:
    powder, furnace, notes = _fired(run)
    reached = sinter.reached(_law(powder), furnace)
    return Forecast(reached.final, reached.final_u, reached.density_draws, notes)


def _shrinkage(run: MeasuredRun) -> Forecast:
    powder, furnace, notes = _fired(run)
    reached, place = sinter.reached(_law(powder), furnace), SHRINKAGES[run.quantity]
    own = chance.combined((reached.furnace_u[place], reached.load_u[place], _law(powder).scatter.value))
    value = 1 - float(reached.ratio[place])
    scattered = 1 - reached.ratio_draws[:, place] + own * draws.normal(DRAWS, 2, SEED)[:, 1]
    return Forecast(value, float(np.std(scattered)), scattered, notes)


def _anisotropy(run: MeasuredRun) -> Forecast:
    return _normal(*_of(_law(_powder(run)).anisotropy_z))


def _packing(run: MeasuredRun) -> Forecast:
    spread = _bed(run)
    return _normal(spread.packing, spread.packing_u, spread.basis)


def _green(run: MeasuredRun) -> Forecast:
    spread = _bed(run)
    return _normal(spread.green, spread.green_u, spread.basis)


def _fineness(run: MeasuredRun) -> Forecast:
    sand = mould.judge((), (), _powder(run), None, Choices())
    return Forecast(sand.fineness, None, np.empty(0), "")


def _permeability(run: MeasuredRun) -> Forecast:
    sand = mould.judge((), (), _powder(run), None, Choices())
    return _normal(sand.permeability, sand.permeability_u)


LAWS: dict[str, Callable[[MeasuredRun], Forecast]] = {
    "sintered density": _sintered_density,
    **dict.fromkeys(SHRINKAGES, _shrinkage),
    "shrinkage z over x": _anisotropy,
    "bed packing": _packing,
    "green density": _green,
    "AFS fineness": _fineness,
    "AFS permeability": _permeability,
}


def _of(figure: Figure) -> tuple[float, float, str]:
    return figure.value, figure.u, "the card's figure"


def _normal(value: float, u: float, notes: str = "") -> Forecast:
    return Forecast(value, u, value + u * draws.normal(DRAWS, 2, SEED)[:, 1], notes)


def _powder(run: MeasuredRun) -> Powder:
    if not run.card:
        raise Unforetold("no powder card is named, and the program knows a powder by its card alone")
    return cards.load("powder", run.card, card_folders())


def _law(powder: Powder) -> Sintering:
    if powder.sintering is None:
        raise Unforetold(f"{powder.title} is not sintered")
    return powder.sintering


def _bed(run: MeasuredRun) -> Bed:
    powder = _powder(run)
    return bed.spread(powder, _lot(run, powder), Choices())


def _lot(run: MeasuredRun, powder: Powder) -> Lot | None:
    """What the row tells of the powder beyond its card: sizes, apparent and tap density."""
    told_sizes = {name: _size(run, name) for name in ("d10_um", "d50_um", "d90_um")}
    apparent, tap = (_density(run, name) for name in ("apparent", "tap"))
    if not any((*told_sizes.values(), apparent, tap)):
        return None
    middle = told_sizes["d50_um"]
    curve = None
    if middle:
        low, high = told_sizes["d10_um"], told_sizes["d90_um"]
        over = middle / powder.d50.value  # a spread that is not told is the card's
        law = grains.lognormal(low or over * powder.d10.value, high or over * powder.d90.value, middle)
        curve = SizeCurve(
            size=np.array([law.median * math.exp(law.sigma * _deviate(share)) for share in SHARES]),
            finer=np.array(SHARES),
            method="laser diffraction",
        )
    return Lot(
        name=run.key,
        powder=powder.name,
        origin="received",
        curve=curve,
        apparent_density=apparent,
        tap_density=tap,
    )


def _deviate(share: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(share))


def _size(run: MeasuredRun, name: str) -> float:
    return run.numbers[name].value * MICRON if name in run.numbers else 0.0


def _density(run: MeasuredRun, name: str) -> Figure | None:
    given = run.numbers.get(name)
    return _figure(given.value * GRAMS, given.u * GRAMS, run) if given else None


def _figure(value: float, u: float, run: MeasuredRun) -> Figure:
    return Figure(value=value, u=u, printed=f"{value:g}", source=run.key, where="", standing="read")


def _fired(run: MeasuredRun) -> tuple[Powder, Furnace, str]:
    """Powder with the row's green density and programme, in a furnace as sure as the row's peak."""
    powder = _bed(run).powder
    law, notes = _law(powder), ""
    furnace = cards.load("furnace", FURNACES[powder.kind], card_folders())
    if green := run.numbers.get("green"):
        law = dataclasses.replace(
            law, green_density=_figure(green.value, green.u or law.green_density.u, run)
        )
    if peak := run.numbers.get("peak_C"):
        law, notes = _as_fired(law, run, peak)
        half = math.hypot(furnace.uniformity.value, math.sqrt(3) * peak.u)  # an even band of the same u
        furnace = dataclasses.replace(furnace, uniformity=dataclasses.replace(furnace.uniformity, value=half))
    return dataclasses.replace(powder, sintering=law), furnace, notes


def _as_fired(law: Sintering, run: MeasuredRun, peak: Given) -> tuple[Sintering, str]:
    """The law with one ramp to the row's peak; less sure where nobody told how long it was held."""
    last = law.programme[-1]
    hold = run.numbers.get("hold_min", USUAL_HOLD)
    rate = run.numbers["rate"].value / 60 if "rate" in run.numbers else last.rate
    stretch = Segment(
        rate=rate,
        target=peak.value + KELVIN,
        hold=hold.value * 60,
        atmosphere=run.words.get("atmosphere", last.atmosphere),
        stage="sintering",
    )
    doubt, notes = law.law_doubt, ""
    if hold.assumed and doubt is not None:
        doubt = dataclasses.replace(doubt, value=math.hypot(doubt.value, HALF_OR_TWICE))
        notes = f"hold of {hold.value:g} min assumed, half to twice"
    return dataclasses.replace(law, programme=(stretch,), law_doubt=doubt), notes
