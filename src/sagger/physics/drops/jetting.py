"""Will a binder leave the nozzle as clean drops? All SI."""

from __future__ import annotations

from math import cbrt, pi, sqrt
from typing import NamedTuple

from sagger.errors import LawError

Z_LEAST = 1.0  # Reis and Derby, MRS Symp. Proc. 624 (2000) 117: thicker binders do not leave the nozzle
Z_CLEAN = 10.0  # the same; thinner binders throw satellites
Z_MOST = 20.0  # Liu and Derby, Phys. Fluids 31 (2019) 032004: practical range 2 < Z < 20 (abstract read)
WEBER_LEAST = 4.0  # Derby, Annu. Rev. Mater. Res. 40 (2010) 395: slower drops are held back (memory)
SPLASH = 50.0  # the same, sqrt(We) Re^(1/4): faster drops splash on a smooth surface (memory)


class DropNumbers(NamedTuple):
    """What decides how a drop forms and lands, all without dimension."""

    reynolds: float  # inertia over viscosity
    weber: float  # inertia over surface tension
    ohnesorge: float  # viscosity over both
    z: float  # 1 / ohnesorge
    splash: float  # sqrt(We) Re^(1/4)


def drop_diameter(volume: float) -> float:
    """Diameter of a ball of `volume` [m3], in [m]."""
    return cbrt(6 * volume / pi)


def drop_numbers(
    diameter: float, speed: float, density: float, viscosity: float, tension: float
) -> DropNumbers:
    """Reynolds, Weber and Ohnesorge number of a drop.

    Parameters
    ----------
    diameter, speed : float
        Of the drop, or of the nozzle where that is known [m], [m/s].
    density, viscosity, tension : float
        Of the binder [kg/m3], [Pa s], [N/m].

    Raises
    ------
    LawError
        If one of them is not above 0.

    Source
    ------
    Derby, Annu. Rev. Mater. Res. 40 (2010) 395: Oh = sqrt(We) / Re.
    """
    if min(diameter, speed, density, viscosity, tension) <= 0:
        raise LawError("diameter, speed, density, viscosity and tension of a drop must be above 0")
    reynolds = density * speed * diameter / viscosity
    weber = density * speed**2 * diameter / tension
    ohnesorge = sqrt(weber) / reynolds
    return DropNumbers(reynolds, weber, ohnesorge, 1 / ohnesorge, sqrt(weber * sqrt(reynolds)))


def verdict(numbers: DropNumbers) -> str:
    """How the drop will form: "steady", "satellites", "splashes", "too slow", "too thick" or "too thin".

    Source
    ------
    Limits at the top of this file. They were found with inks on smooth surfaces; powder was not among them.
    """
    if numbers.z < Z_LEAST:
        return "too thick"
    if numbers.z > Z_MOST:
        return "too thin"
    if numbers.weber < WEBER_LEAST:
        return "too slow"
    if numbers.splash > SPLASH:
        return "splashes"
    return "satellites" if numbers.z > Z_CLEAN else "steady"


def least_speed(diameter: float, density: float, tension: float) -> float:
    """Slowest speed at which a drop gets free of the nozzle [m/s].

    Source: We = 4, Derby, Annu. Rev. Mater. Res. 40 (2010) 395 (memory).
    """
    return sqrt(WEBER_LEAST * tension / (density * diameter))
