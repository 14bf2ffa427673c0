"""How binder fills a powder bed: saturation, pore pressure, soaking, bleeding. All SI."""

from __future__ import annotations

from math import cbrt, cos, inf, pi, sqrt

from sagger.errors import LawError


def saturation(drop: float, pitch: tuple[float, float], layer: float, packing: float) -> float:
    """Share of the pore space that the jetted binder would fill.

    Parameters
    ----------
    drop : float
        Volume of binder on one cell of the lattice [m3].
    pitch : tuple of 2 float
        Spacing of drops along and across the pass [m].
    layer : float
        Height of one layer [m].
    packing : float
        Share of the bed that is solid, between 0 and 1 [-].

    Returns
    -------
    float
        Binder volume over pore volume [-]. Above 1 the rest must spread or pool.

    Raises
    ------
    LawError
        If `packing` leaves no pores or no powder, or a length is not positive.

    Source
    ------
    Definition (binder volume over pore volume). No drying, no spreading.
    """
    return drop / _pores(pitch, layer, packing)


def drop_for(saturation: float, pitch: tuple[float, float], layer: float, packing: float) -> float:
    """Volume of one drop [m3] that gives a saturation; the inverse of `saturation`."""
    return saturation * _pores(pitch, layer, packing)


def _pores(pitch: tuple[float, float], layer: float, packing: float) -> float:
    """Pore volume of one lattice cell [m3]."""
    along, across = pitch
    if min(along, across, layer) <= 0:
        raise LawError(f"pitch and layer must be above 0, got {along:g} m, {across:g} m, {layer:g} m")
    return along * across * layer * _porosity(packing)


def _porosity(packing: float) -> float:
    if not 0 < packing < 1:
        raise LawError(f"packing must lie between 0 and 1, got {packing:g}; check the powder card")
    return 1 - packing


def pore_radius(sauter: float, packing: float) -> float:
    """Effective radius of the pores between grains [m].

    Parameters
    ----------
    sauter : float
        Surface-weighted mean diameter D[3,2] of the grains [m].
    packing : float
        Share of the bed that is solid [-].

    Source
    ------
    White, J. Colloid Interface Sci. 90 (1982) 536, as used by Hapgood et al., J. Colloid Interface
    Sci. 253 (2002) 353 (from memory): twice the pore volume over the wetted surface. Smooth grains;
    roughness makes real pores act smaller.
    """
    return sauter * _porosity(packing) / (3 * packing)


def capillary_pressure(tension: float, contact: float, radius: float) -> float:
    """Suction with which a pore of `radius` [m] draws binder in [Pa]; negative if it will not wet.

    Source: Young-Laplace, `tension` [N/m], `contact` angle [rad].
    """
    return 2 * tension * cos(contact) / radius


def soaked_depth(time: float, radius: float, tension: float, contact: float, viscosity: float) -> float:
    """Depth that binder has soaked in after `time`, with supply unlimited [m]; 0 if it will not wet.

    Source: Washburn, Phys. Rev. 17 (1921) 273.
    """
    return sqrt(max(0.0, radius * tension * cos(contact) * time / (2 * viscosity)))


def time_to_depth(depth: float, radius: float, tension: float, contact: float, viscosity: float) -> float:
    """Time until binder has soaked in to `depth`, with supply unlimited [s]; infinite if it will not wet.

    Source: Washburn, Phys. Rev. 17 (1921) 273.
    """
    pull = radius * tension * cos(contact)
    return 2 * viscosity * depth**2 / pull if pull > 0 else inf


def soak_time(
    drop: float, packing: float, radius: float, tension: float, contact: float, viscosity: float
) -> float:
    """Time for one drop lying on the bed to sink in [s]; infinite if it will not wet.

    Parameters
    ----------
    drop : float
        Volume [m3].
    packing : float
        Share of the bed that is solid [-].
    radius : float
        Effective pore radius [m].
    tension, contact, viscosity : float
        Of the binder [N/m], [rad], [Pa s].

    Source
    ------
    Hapgood, Litster, Biggs, Howes, J. Colloid Interface Sci. 253 (2002) 353 (from memory): constant
    drawing area. In loose beds with large voids the effective porosity is smaller and the time longer.
    """
    pull = tension * cos(contact)
    if pull <= 0:
        return inf
    area = float(drop ** (2 / 3))
    return 1.35 * area / (_porosity(packing) ** 2 * radius) * viscosity / pull


def soaked_radius(drop: float, packing: float, saturation: float) -> float:
    """Radius of the half ball that one drop fills in the bed [m].

    Source: volume balance, same reach in all directions.
    """
    return cbrt(3 * drop / (2 * pi * _porosity(packing) * saturation))


def dot_bleed(radius: float, pitch: float) -> float:
    """How far one drop reaches beyond its own lattice cell [m], at least 0.

    Source: geometry, soaked `radius` [m] minus half the `pitch` [m].
    """
    return max(0.0, radius - pitch / 2)


def square_bleed(printed: float, equilibrium: float, side: float) -> float:
    """How far surplus binder would move each side of a square outward [m]; exact for square corners.

    Source: mass balance in the plane; `side` [m].
    """
    return max(0.0, side / 2 * (sqrt(printed / equilibrium) - 1))


def equilibrium_saturation(pressure: float, entry: float, exponent: float, residual: float) -> float:
    """Saturation that a bed holds against a capillary pressure [-], between `residual` and 1.

    Parameters
    ----------
    pressure : float
        Capillary pressure [Pa].
    entry : float
        Pressure at which the largest pores empty [Pa].
    exponent : float
        Spread of pore sizes, large for even pores [-].
    residual : float
        Saturation that stays at any pressure [-].

    Source
    ------
    Brooks and Corey, Hydrology Paper 3, Colorado State University (1964), from memory. The three
    constants are measured on one's own powder; we could read none published for binder jetting.
    """
    if pressure <= entry:
        return 1.0
    return residual + (1 - residual) * float((entry / pressure) ** exponent)
