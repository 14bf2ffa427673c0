"""What a cure is held against. Each rule answers with the findings it has, often none."""

from __future__ import annotations

from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.finding import Finding
from sagger.goods.oven import Oven
from sagger.units import into

OVERCURE = 10.0  # corner's cure over what is needed; common practice, no source
WORTH = 3600.0  # a saving that a person should hear of [s]

Findings = tuple[Finding, ...]


def fit(box: Box, oven: Oven) -> Findings:
    """Stop if the box does not go into the oven, upright, either way round."""
    base = sorted((box.length_x.value, box.length_y.value))
    floor = sorted((oven.length_x.value, oven.length_y.value))
    pairs = [*zip(base, floor, strict=True), (box.length_z.value, oven.length_z.value)]
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
    """Tell when the core is cured long before it reaches the cure temperature."""
    saved = at_temperature - cured
    if saved < WORTH:
        return ()
    target = into(binder.cure_temperature.value, "degC")
    return (
        Finding(
            level="look",
            what="cured before temperature",
            text=f"The core is 95 % cured after {cured / 3600:.1f} h, {saved / 3600:.1f} h before it reaches "
            f"{target:.0f} degC.",
            value=cured / 3600,
            limit=at_temperature / 3600,
            unit="h",
            source=f"first-order cure from the binder card ({binder.cure_energy.standing})",
            remedy="A run with a thermocouple in the core, and the strength of a coupon printed there, may "
            "allow stopping then.",
        ),
    )


def corner(seen: float, binder: Binder) -> Findings:
    """Look if pieces near a corner see many times the cure they need."""
    needed = binder.cure_t95.value
    if seen <= OVERCURE * needed:
        return ()
    target = into(binder.cure_temperature.value, "degC")
    return (
        Finding(
            level="look",
            what="corner overcured",
            text=f"Pieces near a corner see {seen / 3600:.1f} h at {target:.0f} degC or its equal; "
            f"{needed / 3600:.1f} h cure them. The binder may burn, metal powder may take up oxygen.",
            value=seen / 3600,
            limit=OVERCURE * needed / 3600,
            unit="h",
            source="common practice, no source",
            remedy="Use a lower box, a lower set point, or stop when the core is cured.",
        ),
    )


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
