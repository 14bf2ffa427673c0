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


def weight_stress(height: float, thickness: float, density: float, jolt: float = 2.0) -> float:
    """Bending stress at the foot of an upright wall jolted sideways [Pa].

    Parameters
    ----------
    height, thickness, density : float
        Of the wall [m], [m], [kg/m3].
    jolt : float
        Sideways acceleration over gravity [-]; common practice, no source.

    Source: cantilever of even thickness, 3 n rho g H^2 / t.
    """
    return 3 * jolt * density * float(g) * height**2 / _above_zero(thickness)


def push_stress(force: float, reach: float, width: float, thickness: float) -> float:
    """Bending stress at the root of a tab of `width` pushed at its tip [Pa]; lengths [m], force [N].

    Source: cantilever, 6 F L / (w t^2).
    """
    return 6 * force * reach / (width * _above_zero(thickness) ** 2)


def jet_stress(speed: float, reach: float, thickness: float, air: float = 1.2) -> float:
    """Bending stress at the root of a wall that a jet of air strikes all over [Pa].

    Parameters
    ----------
    speed : float
        Of the jet where it strikes [m/s].
    reach, thickness : float
        Of the wall [m].
    air : float
        Its density [kg/m3].

    Source: cantilever under even pressure, 3 p L^2 / t^2, with the jet's dynamic pressure rho v^2 / 2.
    """
    return 3 * air * speed**2 / 2 * (reach / _above_zero(thickness)) ** 2


def _above_zero(thickness: float) -> float:
    if thickness <= 0:
        raise LawError(f"a wall must be thicker than 0, got {thickness:g} m")
    return thickness
