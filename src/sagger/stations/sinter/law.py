"""The card's figures as the law of densification takes them, each with its uncertainty."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.constants import R, atm

from sagger.goods.powder import Segment, Sintering
from sagger.physics import coarsening, densify
from sagger.stations.sinter.path import Path

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
TAKEN = (
    "surface_energy",
    "capillary_radius",
)  # fixed: viscosity_factor carries their doubt, see goods.powder


class Known(NamedTuple):
    """Figures of the law by name; `values` may be moved, the rest of the card is fixed."""

    names: tuple[str, ...]
    values: ndarray  # (n,)
    u: ndarray  # (n,)
    card: Sintering


def known(card: Sintering) -> Known:
    """The figures of the law, with grain growth and closed pores if the card has them."""
    figures = {name: getattr(card, name) for name in ALWAYS}
    for group in ("coarsening", "closed_pores"):
        held = getattr(card, group)
        if held is not None:
            figures |= {f"{group}.{name}": getattr(held, name) for name in held.__slots__}
    u = [0.0 if name in TAKEN else figure.u for name, figure in figures.items()]
    return Known(tuple(figures), np.array([each.value for each in figures.values()]), np.array(u), card)


def gas(programme: tuple[Segment, ...], way: Path) -> ndarray:
    """Pressure of gas that does not dissolve, at each point of the path [Pa]; cooling as the last stretch."""
    shares = [0.0 if segment.atmosphere in DISSOLVES else atm for segment in programme]
    return np.asarray(np.array([*shares, shares[-1]])[way.segment])


def followed(
    way: Path, law: Known, at: ndarray, warmer: float = 0.0, pressure: ndarray | float = 0.0
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
    body = coarsening.Body(green, surface, radius, (coarsening.Route(factor, energy, exponent),))
    course = coarsening.followed(way.time, kelvin, body, growth, pores, pressure)
    grain = course.grain * growth.grain if growth else None
    return np.minimum(course.density, end), grain


def _factor(law: Known, figures: dict[str, float]) -> float:
    """Viscosity factor that keeps the viscosity at the pivot when the activation energy is moved."""
    moved = figures["activation_energy"] - law.card.activation_energy.value
    pivot = law.card.viscosity_pivot
    if pivot is None:
        return figures["viscosity_factor"]
    return figures["viscosity_factor"] * math.exp(-moved / (R * pivot.value))


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
