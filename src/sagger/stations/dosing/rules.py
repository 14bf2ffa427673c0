"""What a dose is held against. Each rule answers with the findings it has, often none."""

from __future__ import annotations

from math import inf

from sagger.goods.binder import Binder
from sagger.goods.figure import Figure
from sagger.goods.finding import Finding
from sagger.goods.head import Head
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack
from sagger.physics import grains, jetting, wetting
from sagger.units import into

Findings = tuple[Finding, ...]


def source(figure: Figure) -> str:
    """Where a card's figure comes from, in one line."""
    return f"{figure.source}, {figure.where} ({figure.standing})"


def material(powder: Powder, binder: Binder) -> Findings:
    """Stop if the binder is not made for this kind of powder."""
    if powder.kind in binder.fits:
        return ()
    fits = ", ".join(binder.fits) or "nothing"
    return (
        Finding(
            level="stop",
            what="binder and powder",
            text=f"The binder is for {fits}; the powder is {powder.kind} ({binder.title}; {powder.title}).",
            source="binder card",
            remedy=f"Choose a binder whose card lists {powder.kind}.",
        ),
    )


def layer(layer: float, powder: Powder) -> Findings:
    """Layers under d90 drag grains along; layers under 2 d50 pack badly."""
    told = grains.layer_verdict(layer, powder.d50.value, powder.d90.value)
    if told == "fits":
        return ()
    height = into(layer, "um")
    if told == "streaks":
        limit, level, what = into(powder.d90.value, "um"), "stop", "layer under d90"
        text = f"A layer of {height:.0f} um is thinner than d90 of {limit:.0f} um; grains would draw streaks."
    else:
        limit, level, what = into(2 * powder.d50.value, "um"), "look", "layer under 2 d50"
        text = f"A layer of {height:.0f} um is thinner than twice d50 ({limit:.0f} um); it will pack loosely."
    return (
        Finding(
            level=level,
            what=what,
            text=text,
            value=height,
            limit=limit,
            unit="um",
            source="common practice, no source",
            remedy=f"Use layers of {limit:.0f} um or more, or a finer powder.",
        ),
    )


def drop(wanted: float, drop: float, asked: float, printed: float, head: Head) -> Findings:
    """Look if the head cannot give the drop that the saturation asks for."""
    if drop == wanted:
        return ()
    low = drop < wanted
    limit = head.drop_most if low else head.drop_least
    if low:
        remedy = f"Use a lattice with cells {1 - printed / asked:.0%} smaller, or layers as much thinner."
    else:
        share = f"{asked / printed:.0%}".replace("%", " %")
        remedy = f'Thin the drop images: skin_saturation = "{share}" in [choices]; or use thicker layers.'
    side = "largest" if low else "smallest"
    return (
        Finding(
            level="look",
            what="saturation too low" if low else "saturation too high",
            text=f"{asked:.0%} saturation asks for drops of {into(wanted, 'pL'):.1f} pL; the head's {side} "
            f"is {into(drop, 'pL'):.1f} pL, which prints {printed:.0%}.",
            value=into(wanted, "pL"),
            limit=into(limit.value, "pL"),
            unit="pL",
            source=source(limit),
            remedy=remedy,
        ),
    )


Z_LIMITS = "Reis and Derby 2000; Liu and Derby 2019, for inks"
FALL_LIMITS = "Derby 2010 (memory), for smooth surfaces"
JETTING = {  # verdict: level, what the binder does, which number, its limit, whose, remedy
    "too thick": ("stop", "is too thick to jet", "z", jetting.Z_LEAST, Z_LIMITS, "Warm or thin the binder."),
    "too thin": ("stop", "is too thin to jet", "z", jetting.Z_MOST, Z_LIMITS, "Thicken the binder."),
    "satellites": ("look", "may throw satellites", "z", jetting.Z_CLEAN, Z_LIMITS, "Watch drops in flight."),
    "too slow": ("stop", "is held back", "weber", jetting.WEBER_LEAST, FALL_LIMITS, "Drive drops faster."),
    "splashes": ("look", "may splash", "splash", jetting.SPLASH, FALL_LIMITS, "Drive drops more slowly."),
}


def jet(numbers: jetting.DropNumbers) -> Findings:
    """Whether the binder leaves the nozzle as clean drops."""
    told = jetting.verdict(numbers)
    measured = f"We {numbers.weber:.1f}, Re {numbers.reynolds:.1f}, Z = 1/Oh {numbers.z:.1f}"
    if told not in JETTING:
        return (_jets(numbers, measured),)
    level, does, number, limit, whose, remedy = JETTING[told]
    return (
        Finding(
            level=level,
            what=f"drop {told}",
            text=f"The binder {does}: {measured}.",
            value=getattr(numbers, number),
            limit=limit,
            unit="-",
            source=whose,
            remedy=remedy,
        ),
    )


def _jets(numbers: jetting.DropNumbers, measured: str) -> Finding:
    """Inside the window on all sides."""
    return Finding(
        level="ok",
        what="jetting window",
        text=f"Drops leave whole and single: {measured}; Z from {jetting.Z_LEAST:.0f} to "
        f"{jetting.Z_CLEAN:.0f}, We above {jetting.WEBER_LEAST:.0f}.",
        value=numbers.z,
        limit=jetting.Z_CLEAN,
        unit="-",
        source=f"{Z_LIMITS}; {FALL_LIMITS}",
    )


def range_of(
    lattice: tuple[float, float], layer: float, packing: float, printed: float, head: Head
) -> Findings:
    """Which saturations the head can print on this lattice, from its smallest drop to its largest."""
    least, most = (
        wetting.saturation(drop.value, lattice, layer, packing) for drop in (head.drop_least, head.drop_most)
    )
    return (
        Finding(
            level="ok",
            what="saturation range",
            text=f"On this lattice the head prints {least:.0%} to {most:.0%} with one drop on each place.",
            value=100 * printed,
            limit=100 * most,
            unit="%",
            source=source(head.drop_most),
        ),
    )


def wet(soak: float, through: float, binder: Binder) -> Findings:
    """Stop if the binder beads on the powder; look if it soaks in more slowly than the layer dries."""
    angle, dry = into(binder.contact_angle.value, "deg"), binder.dry_time.value
    if soak == inf:
        return (
            Finding(
                level="stop",
                what="binder does not wet",
                text=f"At a contact angle of {angle:.0f} deg the bed does not draw the binder in.",
                value=angle,
                limit=90.0,
                unit="deg",
                source=source(binder.contact_angle),
                remedy="Use a binder with a wetting agent, or measure the angle on this powder.",
            ),
        )
    slower = max(soak, through)
    if dry <= 0 or slower <= dry:
        return ()
    return (
        Finding(
            level="look",
            what="slow soaking",
            text=f"A drop needs {soak:.3g} s to soak in, binder {through:.3g} s through a layer; "
            f"it dries for {dry:.3g} s.",
            value=slower,
            limit=dry,
            unit="s",
            source=source(binder.dry_time),
            remedy="Wait before drying, or thin the binder.",
        ),
    )


def bleed(reach: float, over: float, powder: Powder) -> Findings:
    """Look if drops on both sides of the narrowest gap reach across it."""
    gap = powder.least_gap.value
    if 2 * over < gap:
        return ()
    return (
        Finding(
            level="look",
            what="bleeding",
            text=f"One drop fills {into(reach, 'um'):.0f} um around it, {into(over, 'um'):.0f} um past its "
            f"cell; gaps of {into(gap, 'mm'):.2f} mm may close.",
            value=into(2 * over, "um"),
            limit=into(gap, "um"),
            unit="um",
            source=source(powder.least_gap),
            remedy="Use smaller drops on a finer lattice, or widen the gaps.",
        ),
    )


def creep(over: float, stack: Stack) -> Finding:
    """How far one drop reaches beyond its cell, beside what outlines are drawn inside by."""
    drawn = [into(each.bleed_mm * 1e-3, "um") for each in stack.style.treatments]
    inside = (
        f"{min(drawn):.0f} um" if min(drawn) == max(drawn) else f"{min(drawn):.0f} to {max(drawn):.0f} um"
    )
    return Finding(
        level="ok",
        what="bleed estimate",
        text=f"One drop reaches {into(over, 'um'):.0f} um beyond its cell; "
        f"outlines are drawn inside by {inside}.",
        value=into(over, "um"),
        limit=max(drawn),
        unit="um",
        source="volume of a half ball; coupons know better",
        remedy="Fit `bleed` to coupons of several sizes: sagger bleed COUPONS.csv.",
    )


def surplus(held: float | None, printed: float, most: float) -> Findings:
    """Look if more is printed than the bed holds against its own suction."""
    if held is None or printed <= held:
        return ()
    return (
        Finding(
            level="look",
            what="more binder than the bed holds",
            text=f"The bed holds {held:.0%} at its suction, {printed:.0%} is printed; the rest would move "
            f"outlines by up to {into(most, 'um'):.0f} um, were none to dry or drain.",
            value=100 * printed,
            limit=100 * held,
            unit="%",
            source="powder card: held_saturation, or its suction constants (Brooks and Corey 1964, memory)",
            remedy="Print less, or fit `bleed` to coupons of several sizes: sagger bleed COUPONS.csv.",
        ),
    )
