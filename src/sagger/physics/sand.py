"""Foundry figures of a sand mould. All SI."""

from __future__ import annotations

from sagger.errors import LawError

GRAM_FORCE_PER_CM2 = 98.0665  # [Pa]
PERMEABILITY_UNIT = 1e-6 * 1e-2 / (GRAM_FORCE_PER_CM2 * 1e-4 * 60)  # of the AFS number [m2/(Pa s)]


def permeability_number(volume: float, height: float, area: float, pressure: float, time: float) -> float:
    """AFS permeability number [-].

    Parameters
    ----------
    volume : float
        Air that passes [m3].
    height, area : float
        Of the specimen [m], [m2].
    pressure : float
        Across it [Pa].
    time : float
        [s].

    Source: American Foundry Society, V h / (p A t) in cm, g/cm2 and minutes.
    """
    if min(height, area, pressure, time) <= 0:
        raise LawError("height, area, pressure and time of a permeability test must be above 0")
    return volume * height / (pressure * area * time) / PERMEABILITY_UNIT


def permeability(number: float, viscosity: float) -> float:
    """Darcy permeability [m2] of a sand with this AFS number, from the viscosity of the air [Pa s].

    Source: Darcy's law.
    """
    return number * PERMEABILITY_UNIT * viscosity


def loss_on_ignition(dried: float, burnt: float) -> float:
    """Share of a dried sand that burns off [-]: masses at 105 and 950 degC in any unit."""
    if not 0 < burnt <= dried:
        raise LawError(f"0 < burnt <= dried mass is needed, got {burnt:g} and {dried:g}")
    return (dried - burnt) / dried


def pattern_factor(contraction: float) -> float:
    """Size of a mould cavity over the casting [-], for a linear contraction on the casting's size.

    Source: patternmaker's rule, 1 + contraction; handbooks state contraction on the cold casting.
    """
    return 1 + contraction
