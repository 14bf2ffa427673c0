"""What a dose is held against. Each rule answers with the findings it has, often none."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf

from sagger.goods.binder import Binder
from sagger.goods.figure import cited_at
from sagger.goods.finding import PRACTICE, Against, Finding, ok, risk, stop
from sagger.goods.head import Head
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack
from sagger.physics.drops import jetting
from sagger.physics.powder import grains
from sagger.units import into


def material(powder: Powder, binder: Binder) -> Iterator[Finding]:
    """Stop if the binder is not made for this kind of powder."""
    if powder.kind in binder.fits:
        return
    fits = ", ".join(binder.fits) or "nothing"
    yield stop(
        "binder and powder",
        f"The binder is for {fits}; the powder is {powder.kind} ({binder.title}; {powder.title}).",
        Against(source="binder card"),
        f"Choose a binder whose card lists {powder.kind}.",
    )


def layer(layer: float, powder: Powder) -> Iterator[Finding]:
    """Layers under d90 drag grains along; layers under 2 d50 pack badly."""
    verdict = grains.layer_verdict(layer, powder.d50.value, powder.d90.value)
    if verdict == "fits":
        return
    streaks, height = verdict == "streaks", into(layer, "um")
    limit = into(powder.d90.value if streaks else 2 * powder.d50.value, "um")
    against = Against(height, limit, "um", PRACTICE)
    remedy = f"Use layers of {limit:.0f} um or more, or a finer powder."
    if streaks:
        text = f"A layer of {height:.0f} um is thinner than d90 of {limit:.0f} um; grains would draw streaks."
        yield stop("layer under d90", text, against, remedy)
    else:
        text = f"A layer of {height:.0f} um is thinner than twice d50 ({limit:.0f} um); it will pack loosely."
        yield risk("layer under 2 d50", text, against, remedy)


def drop(wanted: float, drop: float, asked: float, printed: float, head: Head) -> Iterator[Finding]:
    """Look if the head cannot give the drop that the saturation asks for."""
    if drop == wanted:
        return
    low = drop < wanted
    limit = head.drop_most if low else head.drop_least
    if low:
        remedy = f"Use a lattice with cells {1 - printed / asked:.0%} smaller, or layers as much thinner."
    else:
        share = f"{asked / printed:.0%}".replace("%", " %")
        remedy = f'Thin the drop images: skin_saturation = "{share}" in [choices]; or use thicker layers.'
    side = "largest" if low else "smallest"
    yield risk(
        "saturation too low" if low else "saturation too high",
        f"{asked:.0%} saturation asks for drops of {into(wanted, 'pL'):.1f} pL; the head's {side} "
        f"is {into(drop, 'pL'):.1f} pL, which prints {printed:.0%}.",
        Against(into(wanted, "pL"), into(limit.value, "pL"), "pL", cited_at(limit)),
        remedy,
    )


SUCTION = "powder card: held_saturation, or its suction constants (Brooks and Corey 1964, memory)"
Z_LIMITS = "Reis and Derby 2000; Liu and Derby 2019, for inks"
FALL_LIMITS = "Derby 2010 (memory), for smooth surfaces"
JETTING = {  # verdict: how bad, what the binder does, which number, its limit, whose, remedy
    "too thick": (stop, "is too thick to jet", "z", jetting.Z_LEAST, Z_LIMITS, "Warm or thin the binder."),
    "too thin": (stop, "is too thin to jet", "z", jetting.Z_MOST, Z_LIMITS, "Thicken the binder."),
    "satellites": (risk, "may throw satellites", "z", jetting.Z_CLEAN, Z_LIMITS, "Watch drops in flight."),
    "too slow": (
        stop,
        "is held back",
        "weber",
        jetting.WEBER_LEAST,
        FALL_LIMITS,
        "Drive drops at {} or faster.",
    ),
    "splashes": (risk, "may splash", "splash", jetting.SPLASH, FALL_LIMITS, "Drive drops more slowly."),
}


def jet(numbers: jetting.DropNumbers, drop: float, binder: Binder) -> Iterator[Finding]:
    """Whether the binder leaves the nozzle as clean drops of the volume `drop` [m3]."""
    verdict = jetting.verdict(numbers)
    measured = f"We {numbers.weber:.1f}, Re {numbers.reynolds:.1f}, Z = 1/Oh {numbers.z:.1f}"
    if verdict not in JETTING:
        yield _jets(numbers, measured)
        return
    bad, does, number, limit, whose, remedy = JETTING[verdict]
    against = Against(getattr(numbers, number), limit, "-", whose)
    across = jetting.drop_diameter(drop)
    least = jetting.least_speed(across, binder.density.value, binder.surface_tension.value)
    yield bad(
        f"drop {verdict}", f"The binder {does}: {measured}.", against, remedy.format(f"{least:.1f} m/s")
    )


def _jets(numbers: jetting.DropNumbers, measured: str) -> Finding:
    """Inside the window on all sides."""
    return ok(
        "jetting window",
        f"Drops leave whole and single: {measured}; Z from {jetting.Z_LEAST:.0f} to "
        f"{jetting.Z_CLEAN:.0f}, We above {jetting.WEBER_LEAST:.0f}.",
        Against(numbers.z, jetting.Z_CLEAN, "-", f"{Z_LIMITS}; {FALL_LIMITS}"),
    )


def range_of(saturation: Callable[[float], float], printed: float, head: Head) -> Finding:
    """Which saturations the head can print on this lattice, from its smallest drop to its largest."""
    least, most = saturation(head.drop_least.value), saturation(head.drop_most.value)
    return ok(
        "saturation range",
        f"On this lattice the head prints {least:.0%} to {most:.0%} with one drop on each place.",
        Against(100 * printed, 100 * most, "%", cited_at(head.drop_most)),
    )


def wet(soak: float, through: float, binder: Binder) -> Iterator[Finding]:
    """Stop if the binder beads on the powder; look if it soaks in more slowly than the layer dries."""
    angle, dry = into(binder.contact_angle.value, "deg"), binder.dry_time.value
    if soak == inf:
        yield stop(
            "binder does not wet",
            f"At a contact angle of {angle:.0f} deg the bed does not draw the binder in.",
            Against(angle, 90.0, "deg", cited_at(binder.contact_angle)),
            "Use a binder with a wetting agent, or measure the angle on this powder.",
        )
        return
    slower = max(soak, through)
    if dry <= 0 or slower <= dry:
        return
    yield risk(
        "slow soaking",
        f"A drop needs {soak:.3g} s to soak in, binder {through:.3g} s through a layer; "
        f"it dries for {dry:.3g} s.",
        Against(slower, dry, "s", cited_at(binder.dry_time)),
        "Wait before drying, or thin the binder.",
    )


def bleed(reach: float, over: float, powder: Powder) -> Iterator[Finding]:
    """Look if drops on both sides of the narrowest gap reach across it."""
    gap = powder.least_gap.value
    if 2 * over < gap:
        return
    yield risk(
        "bleeding",
        f"One drop fills {into(reach, 'um'):.0f} um around it, {into(over, 'um'):.0f} um past its "
        f"cell; gaps of {into(gap, 'mm'):.2f} mm may close.",
        Against(into(2 * over, "um"), into(gap, "um"), "um", cited_at(powder.least_gap)),
        "Use smaller drops on a finer lattice, or widen the gaps.",
    )


def creep(over: float, stack: Stack) -> Finding:
    """How far one drop reaches beyond its cell, beside what outlines are drawn inside by."""
    drawn = [into(each.bleed_mm * 1e-3, "um") for each in stack.style.treatments]
    inside = (
        f"{min(drawn):.0f} um" if min(drawn) == max(drawn) else f"{min(drawn):.0f} to {max(drawn):.0f} um"
    )
    return ok(
        "bleed estimate",
        f"One drop reaches {into(over, 'um'):.0f} um beyond its cell; outlines are drawn inside by {inside}.",
        Against(into(over, "um"), max(drawn), "um", "volume of a half ball; coupons know better"),
        "Fit `bleed` to coupons of several sizes: sagger bleed COUPONS.csv.",
    )


def surplus(held: float | None, printed: float, most: float) -> Iterator[Finding]:
    """Look if more is printed than the bed holds against its own suction."""
    if held is None or printed <= held:
        return
    yield risk(
        "more binder than the bed holds",
        f"The bed holds {held:.0%} at its suction, {printed:.0%} is printed; the rest would move "
        f"outlines by up to {into(most, 'um'):.0f} um, were none to dry or drain.",
        Against(100 * printed, 100 * held, "%", SUCTION),
        "Print less, or fit `bleed` to coupons of several sizes: sagger bleed COUPONS.csv.",
    )
