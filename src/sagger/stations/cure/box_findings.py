"""What a cure is held against. Each rule answers with the findings it has, often none."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.binder import Binder
from sagger.goods.cured import Shorter
from sagger.goods.dose import Dose
from sagger.goods.finding import PRACTICE, Against, Finding, advice, ok, risk, stop
from sagger.goods.oven import Oven
from sagger.physics.heat import drying
from sagger.units import into

OVERCURE = 10.0  # corner's cure over what is needed; common practice, no source
TELLING = 600.0  # a shorter programme that a person should hear of saves as much [s]
WORTH = 3600.0  # a saving that a person should hear of [s]
WATER_DENSITY, AIR_MOLAR_MASS = (
    1000.0,
    28.96e-3,
)  # what liquid and vapour are stated against [kg/m3], [kg/mol]


def fit(outer: tuple[float, float, float], oven: Oven) -> Iterator[Finding]:
    """Stop if the box, `outer` [m] with its walls, does not go into the oven upright, either way round."""
    base = sorted(outer[:2])
    floor = sorted((oven.length_x.value, oven.length_y.value))
    pairs = [*zip(base, floor, strict=True), (outer[2], oven.length_z.value)]
    worst, room = max(pairs, key=lambda pair: pair[0] - pair[1])
    if worst <= room:
        return
    yield stop(
        "box and oven",
        f"The box does not go into the oven: {worst * 1e3:.0f} mm where there is room for "
        f"{room * 1e3:.0f} mm.",
        Against(worst * 1e3, room * 1e3, "mm", "box and oven cards"),
        "Choose a larger oven or a smaller box.",
    )


def early(at_temperature: float, cured: float, binder: Binder) -> Iterator[Finding]:
    """Tell when the core is cured long before the coldest reaches the cure temperature."""
    saved = at_temperature - cured
    if saved < WORTH:
        return
    target = into(binder.cure_temperature.value, "degC")
    source = f"first-order cure from the binder card ({binder.cure_energy.standing})"
    yield advice(
        "cured before temperature",
        f"The last piece is 95 % cured after {cured / 3600:.1f} h, {saved / 3600:.1f} h before "
        f"the coldest reaches {target:.0f} degC.",
        Against(cured / 3600, at_temperature / 3600, "h", source),
        "A run with a thermocouple in the core, and the strength of a coupon printed there, may "
        "allow stopping then.",
    )


def corner(seen: float, most: float, binder: Binder) -> Iterator[Finding]:
    """Look if the hottest piece sees more than it should."""
    needed = binder.cure_t95.value
    if seen <= most:
        return
    target = into(binder.cure_temperature.value, "degC")
    yield risk(
        "corner overcured",
        f"The hottest piece sees {seen / 3600:.1f} h at {target:.0f} degC or its equal; "
        f"{needed / 3600:.1f} h cure it. The binder may burn, metal powder may take up oxygen.",
        Against(seen / 3600, most / 3600, "h", _limit(binder)),
        "Use a lower box, a lower set point, or stop when the core is cured.",
    )


def shorter(proposal: Shorter | None, cured: float, most: float, binder: Binder) -> Iterator[Finding]:
    """Tell of a shorter programme, or that none was found within the limits."""
    if proposal is None:
        text = (
            f"No programme was found that cures the last piece before {cured / 3600:.1f} h and keeps the "
            f"hottest within {most / 3600:.1f} h of its equal."
        )
        yield ok("shorter programme", text, Against(source=_limit(binder)))
        return
    hot = into(max(kelvin for _, kelvin in proposal.programme), "degC")
    yield advice(
        "shorter programme",
        f"Up to {hot:.0f} degC the last piece is as far cured after "
        f"{proposal.time_to_cure / 3600:.1f} h instead of {cured / 3600:.1f} h.",
        Against(proposal.time_to_cure / 3600, cured / 3600, "h", _limit(binder)),
        "Try it on a box of coupons with a thermocouple in the core before you rely on it.",
        unless=proposal.saved < TELLING,
    )


def _limit(binder: Binder) -> str:
    figure = binder.cure_most
    return f"cure_most on the binder card ({figure.standing})" if figure else PRACTICE


def vapour(binder: Binder, dose: Dose) -> Iterator[Finding]:
    """Caution where flammable solvent leaves in the oven: how much at most, and what air that takes.

    Source
    ------
    NFPA 86 forms (memory), see `drying`; the solvent is taken as dense as the binder, which cancels out.
    """
    if binder.solvent.value <= 0:
        return
    liquid = dose.binder * binder.solvent.value
    against_air = binder.solvent_molar_mass.value / AIR_MOLAR_MASS
    by_liquid = drying.vapour_volume(binder.density.value / WATER_DENSITY, against_air)
    air = liquid * drying.dilution_air(by_liquid, binder.solvent_lower_limit.value)
    yield advice(
        "solvent vapour in the oven",
        "Solvent left in the box comes off in the oven, in a burst when the warm front passes; "
        f"vapour can reach its explosive limit. All {into(liquid * binder.density.value, 'g'):.3g} g that "
        f"were jetted make {into(liquid * by_liquid, 'L'):.3g} L of it; to stay under a quarter of the limit "
        f"about {air:.2g} m3 of fresh air must pass while it comes off.",
        Against(air, None, "m3", "NFPA 86 form (memory), at 21 °C; NFPA 86 and EN 1539 govern"),
        "Ask the oven's maker whether it is built for solvent and what exhaust it needs. Local "
        "code and a licensed person decide.",
    )
