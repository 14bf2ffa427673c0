"""Rows that weigh a piece in air and under water: the masses as they were read, and the density they give."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sagger.errors import LawError
from sagger.files.cells import Bad, Cells, RowFacts, amount, finite, temperature
from sagger.goods.reading import Reading
from sagger.physics.powder import weighing
from sagger.statistics import chance

COLUMNS = {
    "in_air": "weighing: mass of the dry piece in air",
    "in_water": "weighing: mass under water",
    "soaked": "weighing: mass in air with open pores filled (ISO 2738, ASTM B962); empty for a closed piece",
    "after": "weighing: mass in air, wiped dry after the water, of a piece that was not filled",
    "water": "weighing: temperature of the water, in degC if no unit is said",
    "u_water": "weighing: standard uncertainty of that temperature in K, 0.5 if not said",
}
MASSES = {"in_air": "in air", "in_water": "in water", "soaked": "soaked", "after": "after water"}
U_WATER = "0.5"  # K; common practice, no source
U_AIR = 0.03  # kg/m3, between rooms and days; common practice, no source
OPEN, CLOSED = "ISO 2738", "ISO 3369"
GAIN = 3.0  # uncertainties of a difference, by which a piece must have taken up water to be called open


def readings(cells: Cells, u: float, u_zero: float, common: RowFacts) -> list[Reading]:
    """The masses, and the density with its uncertainty.

    Parameters
    ----------
    cells : mapping
        The row.
    u, u_zero : float
        Standard uncertainty of one mass, and of the balance's zero, which all its masses share [kg].
    common : RowFacts
        What the readings say apart from their values.

    Raises
    ------
    Bad
        If a mass is missing, or the masses cannot be of one piece.
    """
    mass = {name: amount(cells, name, "mass") for name in MASSES}
    for name in ("in_air", "in_water"):
        if mass[name] is None:
            raise Bad(name, "a weighing needs this mass")
    _refuse_open(mass, u)
    weighed = [
        Reading(kind="mass", feature=MASSES[name], value=value, u=u, u_shared=u_zero, unit="g", **common)
        for name, value in mass.items()
        if value is not None
    ]
    return [*weighed, _density(cells, mass, u, u_zero, common)]


def _density(
    cells: Cells, mass: dict[str, float | None], u: float, u_zero: float, common: RowFacts
) -> Reading:
    """What the masses share is the water and the zero of the balance; the scale of a balance cancels."""
    at = temperature(cells, "water")
    if at is None:
        raise Bad("water", "a weighing needs the temperature of the water")
    u_at = finite(cells.get("u_water") or U_WATER, "u_water")
    dry, immersed, wet = mass["in_air"], mass["in_water"], mass["soaked"]
    assert dry is not None and immersed is not None
    law: Callable[..., float] = weighing.sealed if wet is None else weighing.impregnated
    masses = (dry, immersed) if wet is None else (dry, wet, immersed)
    try:
        water = weighing.water(at)
        u_water = abs(weighing.water(at + u_at / 2) - weighing.water(at - u_at / 2))
        met = (water, weighing.AIR) if wet is None else (water,)
        value = law(*masses, *met)
        alone = chance.propagated(lambda read: law(*read, *met), masses, [u] * len(masses))
        around = chance.propagated(lambda near: law(*masses, *near), met, (u_water, U_AIR)[: len(met)])
        zero = chance.propagated(lambda off: law(*(np.array(masses) + off), *met), [0.0], [u_zero])
    except LawError as error:
        raise Bad("in_water", str(error)) from None
    return Reading(
        kind="density",
        feature=CLOSED if wet is None else OPEN,
        value=value,
        u=chance.combined(alone),
        u_shared=chance.combined((*around, *zero)),
        unit="g/cm3",
        **common,
    )


def _refuse_open(mass: dict[str, float | None], u: float) -> None:
    """Water that went into a piece is not displaced, so the density would be too high."""
    dry, after = mass["in_air"], mass["after"]
    if mass["soaked"] is not None or dry is None or after is None:
        return
    if after - dry > GAIN * chance.combined((u, u)):
        gain = (after - dry) * 1e6
        wrong = (
            f"the piece took up {gain:.1f} mg of water: its pores are open. Fill them and weigh by ISO 2738"
        )
        raise Bad("after", wrong)
