"""What a green part bears before it is sintered. All SI."""

from __future__ import annotations

from math import sqrt

from scipy.constants import g

from sagger.errors import LawError


def bend_strength(force: float, span: float, width: float, thickness: float) -> float:
    """Strength of a bar broken in three-point bending [Pa].

    Parameters
    ----------
    force : float
        At break [N].
    span, width, thickness : float
        Between supports, and of the bar [m].

    Source: ASTM B312 and ISO 3995, 3 F L / (2 w t^2).
    """
    return 3 * force * span / (2 * width * thickness**2)


def wall_for_weight(
    height: float, density: float, strength: float, jolt: float = 2.0, margin: float = 4.0
) -> float:
    """Thinnest upright wall that bears its own weight when jolted sideways [m].

    Parameters
    ----------
    height, density, strength : float
        Of the wall [m], [kg/m3], green strength in bending [Pa].
    jolt : float
        Sideways acceleration over gravity [-]; common practice, no source.
    margin : float
        Strength over stress asked [-]; common practice, no source.

    Source: cantilever of even thickness, stress 3 n rho g H^2 / t.
    """
    if strength <= 0:
        raise LawError(f"green strength must be above 0, got {strength:g} Pa; check the powder card")
    return 3 * jolt * density * float(g) * height**2 * margin / strength


def wall_for_push(force: float, reach: float, width: float, strength: float, margin: float = 3.0) -> float:
    """Thinnest tab that bears a push at its tip [m].

    Parameters
    ----------
    force, reach, width : float
        Push [N], how far from the root it acts [m], width of the tab [m].
    strength, margin : float
        As in `wall_for_weight`.

    Source: cantilever, stress 6 F L / (w t^2).
    """
    if strength <= 0:
        raise LawError(f"green strength must be above 0, got {strength:g} Pa; check the powder card")
    return sqrt(6 * force * reach * margin / (width * strength))
