"""What a cure is held against. Each rule answers with the findings it has, often none."""

from __future__ import annotations

from sagger.goods.binder import Binder
from sagger.goods.cured import Shorter
from sagger.goods.finding import Finding
from sagger.goods.oven import Oven
from sagger.units import into

OVERCURE = 10.0  # corner's cure over what is needed; common practice, no source
TELLING = 600.0  # a shorter programme that a person should hear of saves as much [s]
WORTH = 3600.0  # a saving that a person should hear of [s]

Findings = tuple[Finding, ...]


def fit(outer: tuple[float, float, float], oven: Oven) -> Findings:
    """Stop if the box, `outer` [m] with its walls, does not go into the oven upright, either way round."""
    base = sorted(outer[:2])
    floor = sorted((oven.length_x.value, oven.length_y.value))
    pairs = [*zip(base, floor, strict=True), (outer[2], oven.length_z.value)]
    worst, room = max(pairs, key=lambda pair: pair[0] - pair[1])
    if worst <= room:
        return ()
    return (
        Finding(
            level="stop",
            what="box and oven",
            text=f"The box does not go into the oven: {worst * 1e3:.0f} mm where there is room for "
            f"{room * 1e3:.0f} mm.",
            value=worst * 1e3,
            limit=room * 1e3,
            unit="mm",
            source="box and oven cards",
            remedy="Choose a larger oven or a smaller box.",
        ),
    )


def early(at_temperature: float, cured: float, binder: Binder) -> Findings:
    """Tell when the core is cured long before the coldest reaches the cure temperature."""
    saved = at_temperature - cured
    if saved < WORTH:
        return ()
    target = into(binder.cure_temperature.value, "degC")
    return (
        Finding(
            level="look",
            what="cured before temperature",
            text=f"The last piece is 95 % cured after {cured / 3600:.1f} h, {saved / 3600:.1f} h before "
            f"the coldest reaches {target:.0f} degC.",
            value=cured / 3600,
            limit=at_temperature / 3600,
            unit="h",
            source=f"first-order cure from the binder card ({binder.cure_energy.standing})",
            remedy="A run with a thermocouple in the core, and the strength of a coupon printed there, may "
            "allow stopping then.",
        ),
    )


def corner(seen: float, most: float, binder: Binder) -> Findings:
    """Look if the hottest piece sees more than it should."""
    needed = binder.cure_t95.value
    if seen <= most:
        return ()
    target = into(binder.cure_temperature.value, "degC")
    return (
        Finding(
            level="look",
            what="corner overcured",
            text=f"The hottest piece sees {seen / 3600:.1f} h at {target:.0f} degC or its equal; "
            f"{needed / 3600:.1f} h cure it. The binder may burn, metal powder may take up oxygen.",
            value=seen / 3600,
            limit=most / 3600,
            unit="h",
            source=_limit(binder),
            remedy="Use a lower box, a lower set point, or stop when the core is cured.",
        ),
    )


def shorter(found: Shorter | None, cured: float, most: float, binder: Binder) -> Findings:
    """Tell of a shorter programme, or that none was found within the limits."""
    if found is None:
        text = (
            f"No programme was found that cures the last piece before {cured / 3600:.1f} h and keeps the "
            f"hottest within {most / 3600:.1f} h of its equal."
        )
        return (Finding(level="ok", what="shorter programme", text=text, source=_limit(binder)),)
    hot = into(max(kelvin for _, kelvin in found.programme), "degC")
    return (
        Finding(
            level="look" if found.saved >= TELLING else "ok",
            what="shorter programme",
            text=f"Up to {hot:.0f} degC the last piece is as far cured after "
            f"{found.time_to_cure / 3600:.1f} h instead of {cured / 3600:.1f} h.",
            value=found.time_to_cure / 3600,
            limit=cured / 3600,
            unit="h",
            source=_limit(binder),
            remedy="Try it on a box of coupons with a thermocouple in the core before you rely on it.",
        ),
    )


def _limit(binder: Binder) -> str:
    figure = binder.cure_most
    return f"cure_most on the binder card ({figure.standing})" if figure else "common practice, no source"


def vapour(binder: Binder) -> Findings:
    """Caution where flammable solvent leaves in the oven."""
    if binder.solvent.value <= 0:
        return ()
    return (
        Finding(
            level="look",
            what="solvent vapour in the oven",
            text="Solvent left in the box comes off in the oven, in a burst when the warm front passes; "
            "vapour can reach its explosive limit.",
            source="common practice; NFPA 86 and EN 1539 govern",
            remedy="Ask the oven's maker whether it is built for solvent and what exhaust it needs. Local "
            "code and a licensed person decide.",
        ),
    )
