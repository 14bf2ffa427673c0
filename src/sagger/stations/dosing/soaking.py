"""How the bed draws binder in, how far it spreads, and how much of it the bed holds."""

from __future__ import annotations

from math import inf, sqrt
from typing import NamedTuple

from sagger.goods.binder import Binder
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack, Tally
from sagger.physics.drops import wetting
from sagger.physics.powder import grains


class Wet(NamedTuple):
    radius: float  # of pores [m]
    pressure: float  # [Pa]
    drop: float  # time for one drop to sink in [s]
    layer: float  # time to soak through one layer [s]
    spread: float  # radius that one drop fills [m]
    over: float  # of that, beyond its cell [m]
    depth: (
        float  # that binder soaks while the layer dries, with supply unlimited [m]; infinite if it does not
    )


class BinderHeld(NamedTuple):
    saturation: float | None  # that the bed holds [-]
    bleed: float  # that surplus binder would move outlines by at most [m]


def soaked(
    drop: float,
    printed: float,
    lattice: tuple[float, float],
    layer: float,
    powder: Powder,
    binder: Binder,
) -> Wet:
    """How the bed draws one drop in."""
    packing = powder.packing.value
    tension, contact = binder.surface_tension.value, binder.contact_angle.value
    sizes = grains.lognormal(powder.d10.value, powder.d90.value, powder.d50.value)
    radius = wetting.pore_radius(sizes.sauter, packing)
    rest = (radius, tension, contact, binder.viscosity.value)
    spread = wetting.soaked_radius(drop, packing, min(printed, 1.0))
    return Wet(
        radius=radius,
        pressure=wetting.capillary_pressure(tension, contact, radius),
        drop=wetting.soak_time(drop, packing, *rest),
        layer=wetting.time_to_depth(layer, *rest),
        spread=spread,
        over=wetting.dot_bleed(spread, min(lattice)),
        depth=wetting.soaked_depth(dry, *rest) if (dry := binder.dry_time.value) > 0 else inf,
    )


def held(wet: Wet, printed: float, stack: Stack, tally: Tally, powder: Powder) -> BinderHeld:
    """What the bed holds against suction, if the card knows, and how far the rest would creep.

    The section that the surplus comes from is taken as a square of the layer with most binder, shared out
    among the pieces of the box, and it creeps no farther than binder soaks while the layer dries: an upper
    bound, drying and the layers below take their share.
    """
    own = powder.held_saturation  # what coupons say goes before what a law says
    saturation = own.value if own is not None else _by_suction(wet.pressure, powder)
    if saturation is None:
        return BinderHeld(None, 0.0)
    area = float(tally.section_mm2.max(initial=0.0)) * 1e-6 / max(1, len(stack.layout.pieces))
    return BinderHeld(saturation, min(wetting.square_bleed(printed, saturation, sqrt(area)), wet.depth))


def _by_suction(pressure: float, powder: Powder) -> float | None:
    """What the card's constants say that the bed holds; None if it has not all three."""
    constants = (powder.entry_pressure, powder.pore_exponent, powder.residual_saturation)
    known = [figure.value for figure in constants if figure is not None]
    if len(known) < len(constants):
        return None
    return wetting.equilibrium_saturation(pressure, *known)
