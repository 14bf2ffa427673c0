"""The card's figures as the law of densification takes them, each with its uncertainty."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from numpy.typing import ArrayLike
from scipy.constants import R, atm
from scipy.special import ndtr

from sagger.errors import InputError
from sagger.goods.powder import Powder, Segment, Sintering
from sagger.physics.sintering import coarsening, densify, drawn
from sagger.stations.sinter.path import Path
from sagger.statistics import draws

DISSOLVES = ("hydrogen", "vacuum")  # gas in pores that leaves through the metal, or no gas
ALWAYS = (
    "green_density",
    "end_density",
    "surface_energy",
    "capillary_radius",
    "viscosity_factor",
    "activation_energy",
    "anisotropy_y",
    "anisotropy_z",
)
# Fixed, because another figure carries their doubt: viscosity_factor that of the first two (goods.powder),
# coarsening.factor that of growth as a whole.
TAKEN = ("surface_energy", "capillary_radius", "coarsening.energy", "coarsening.grain")
SHARES = ("green_density", "end_density", "coarsening.drag", "closed_pores.closure")  # never above 1
# Each figure's column among the draws, whatever else a card has: other programmes and cards share the draws.
COLUMNS = (
    *ALWAYS,
    *(f"coarsening.{name}" for name in ("grain", "factor", "energy", "drag", "exponent")),
    *("closed_pores.closure", "closed_pores.radius", "law_doubt", "furnace place"),
)
SEED = 20240607
DRAWS = 1024


def fired(powder: Powder) -> Sintering:
    """The powder's sintering card.

    Raises
    ------
    InputError
        If it has none.
    """
    if powder.sintering is None:
        remedy = "Choose no furnace for sand."
        raise InputError(f"{powder.title} is not sintered", field="powder", remedy=remedy)
    return powder.sintering


class LawFigures(NamedTuple):
    """Figures of the law by name; `values` may be moved, the rest of the card is fixed."""

    names: tuple[str, ...]
    values: ndarray  # (n,)
    u: ndarray  # (n,)
    card: Sintering


def known(card: Sintering) -> LawFigures:
    """The figures of the law, with grain growth and closed pores if the card has them."""
    figures = {name: getattr(card, name) for name in ALWAYS}
    for group in ("coarsening", "closed_pores"):
        held = getattr(card, group)
        if held is not None:
            figures |= {f"{group}.{name}": getattr(held, name) for name in held.__slots__}
    u = [0.0 if name in TAKEN else figure.u for name, figure in figures.items()]
    return LawFigures(tuple(figures), np.array([each.value for each in figures.values()]), np.array(u), card)


def gas(programme: tuple[Segment, ...], way: Path) -> ndarray:
    """Pressure of gas that does not dissolve, at each point of the path [Pa]; cooling as the last stretch."""
    shares = [0.0 if segment.atmosphere in DISSOLVES else atm for segment in programme]
    return np.asarray(np.array([*shares, shares[-1]])[way.segment])


class LawDraws(NamedTuple):
    """Draws of the law's figures, arrays (m,)."""

    figures: dict[str, ndarray]
    doubt: ndarray  # by which the law's decay is off: a factor [-]
    place: ndarray  # of a piece in the furnace, even from -1, the coldest, to 1 [-]


def draw(law: LawFigures, count: int = DRAWS) -> LawDraws:
    """Worlds that the card leaves open, the same rows for each programme.

    Each figure is drawn by itself: a density as a share, all else as a positive quantity. Viscosity keeps to
    the card's `viscosity_pivot` when the activation energy moves.
    """
    deviates = dict(zip(COLUMNS, draws.normal(count, len(COLUMNS), SEED).T, strict=True))
    made = {}
    for name, value, u in zip(law.names, law.values, law.u, strict=True):
        spread = draws.share if name in SHARES else draws.positive
        made[name] = spread(deviates[name], value, u) if u else np.full(count, value)
    moved = made["activation_energy"] - law.card.activation_energy.value
    made["viscosity_factor"] = made["viscosity_factor"] * _kept(law.card, moved)
    by = np.exp(_off(law.card) * deviates["law_doubt"])
    return LawDraws(made, by, 2 * ndtr(deviates["furnace place"]) - 1)


def _off(card: Sintering) -> float:
    """Standard deviation of the logarithm of the factor by which the law's decay is off.

    Its own doubt, and the more the farther a body is packed from those that the law belongs to: by as much
    as its share of pores differs. A pressed body has other contacts than a poured one
    (assumed; runs in print agree).
    """
    own = card.law_doubt.value if card.law_doubt else 0.0
    if card.law_green is None:
        return own
    return math.hypot(own, math.log((1 - card.green_density.value) / (1 - card.law_green.value)))


def drawn_ends(way: Path, law: LawDraws, warmer: float, pressure: ndarray | float) -> ndarray:
    """Relative density of each draw at the end of the path, `warmer` [K] than the programme, array (m,)."""
    of = law.figures
    green = of["green_density"]
    none = np.zeros_like(green)
    grain = of.get("coarsening.grain", none + 1)
    bodies = drawn.BodyDraws(
        density=green,
        speed=law.doubt * (9 * of["surface_energy"] / (4 * of["capillary_radius"] * of["viscosity_factor"])),
        energy=of["activation_energy"],
        exponent=of.get("coarsening.exponent", none),
        growth=of.get("coarsening.factor", none) / grain**coarsening.GROWTH,
        growth_energy=of.get("coarsening.energy", none + 1),
        drag=of.get("coarsening.drag", none + 1),
        closure=of.get("closed_pores.closure", none + 2),
        capillary=2 * of["surface_energy"] / of.get("closed_pores.radius", none + 1),
    )
    end = np.maximum(of["end_density"], green)
    reached = drawn.ends(way.time, way.temperature + warmer, bodies, pressure)
    return np.asarray(np.minimum(reached, end))


def followed(
    way: Path, law: LawFigures, at: ndarray, warmer: float = 0.0, pressure: ndarray | float = 0.0
) -> tuple[ndarray, ndarray | None]:
    """Relative density [-] along the path, cut off at the card's end density, and grain size [m] if known.

    Parameters
    ----------
    way : Path
    law : Known
    at : array (n,)
        Figures in the order of `law.names`, moved or not.
    warmer : float
        Added to the whole path [K].
    pressure : float or array
        As `gas`.
    """
    figures = dict(zip(law.names, (float(value) for value in at), strict=True))
    kelvin = way.temperature + warmer
    green, factor, energy = figures["green_density"], _factor(law, figures), figures["activation_energy"]
    surface, radius = figures["surface_energy"], figures["capillary_radius"]
    end = max(figures["end_density"], green)
    if law.card.coarsening is None and law.card.closed_pores is None:
        decay = densify.decay(way.time, kelvin, surface, radius, factor, energy)
        return np.asarray(np.minimum(densify.densified(green, decay), end)), None
    growth, pores, exponent = _growth(figures), _pores(figures), figures.get("coarsening.exponent", 0.0)
    body = coarsening.GreenBody(green, surface, radius, (coarsening.Route(factor, energy, exponent),))
    course = coarsening.followed(way.time, kelvin, body, growth, pores, pressure)
    grain = course.grain * growth.grain if growth else None
    return np.minimum(course.density, end), grain


def _factor(law: LawFigures, figures: dict[str, float]) -> float:
    """Viscosity factor that keeps the viscosity at the pivot when the activation energy is moved."""
    moved = figures["activation_energy"] - law.card.activation_energy.value
    return figures["viscosity_factor"] * float(_kept(law.card, moved))


def _kept(card: Sintering, moved: ArrayLike) -> ndarray:
    """By what the viscosity factor changes so that the viscosity at the pivot does not; 1 without a pivot."""
    pivot = card.viscosity_pivot
    energy = np.asarray(moved, float)
    return np.ones_like(energy) if pivot is None else np.asarray(np.exp(-energy / (R * pivot.value)))


def _growth(figures: dict[str, float]) -> coarsening.Growth | None:
    if "coarsening.grain" not in figures:
        return None
    return coarsening.Growth(
        *(figures[f"coarsening.{name}"] for name in ("grain", "factor", "energy", "drag"))
    )


def _pores(figures: dict[str, float]) -> coarsening.Pores | None:
    if "closed_pores.closure" not in figures:
        return None
    return coarsening.Pores(figures["closed_pores.closure"], figures["closed_pores.radius"])
