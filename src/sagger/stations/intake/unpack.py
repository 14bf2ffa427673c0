"""Findings about unpacking: the ways out of loose powder, and what thin walls bear while it is done."""

from __future__ import annotations

from math import inf

import numpy as np

from sagger.geometry.surface.heal import Healed
from sagger.geometry.wall import cavities, reach, ways
from sagger.geometry.wall.thickness import Across
from sagger.goods.cell import Cell
from sagger.goods.figure import cited
from sagger.goods.finding import PRACTICE, Against, Finding, ok, risk
from sagger.goods.part import Unpacking
from sagger.goods.powder import Powder
from sagger.physics.powder import handling
from sagger.stations.intake.fit import oversize
from sagger.stations.intake.surface import place
from sagger.stations.intake.trapped import channel, trapped

# Common practice, no source, all of it.
TOOL = 5.0  # an air lance or a brush is led in where there is room for so many channel widths
SLIM = 10.0  # ways longer than so many of their widths empty badly
THIN = 3.0  # walls thinner than so many times the powder's least wall are looked at
MARGIN = 3.0  # green strength over stress
JET = 50.0  # speed of air where it strikes [m/s]
PUSH, TIP = 2.0, 0.02  # force of a brush [N], on a width of [m]


def unpacking(healed: Healed, inward: Across, cell: Cell) -> tuple[Unpacking | None, list[Finding]]:
    """What unpacking one piece meets; None, and a finding that says so, if the surface is open."""
    needed = channel(cell.powder)
    if healed.open_edges:
        return None, [trapped([], [], None, needed, cell)]
    finished_mm = needed.width_mm / oversize(cell.powder)  # the part is looked at before it is enlarged
    tool_mm = TOOL * finished_mm
    flood = cavities.flooded(healed.shape, finished_mm)
    sealed, narrow = cavities.sealed(healed.shape, healed.shells), cavities.narrow(flood)
    pockets = ways.pockets(flood, tool_mm)
    walls = reach.walls(flood.grid, inward, THIN * cell.powder.least_wall.value * 1e3)
    margins = [_margins(wall, cell.powder) for wall in walls]
    weakest = min(margins, key=min, default=(inf, inf, inf))
    slimmest = pockets[0] if pockets else None
    met = Unpacking(
        trapped_mm3=sum(hollow.volume_mm3 for hollow in (*sealed, *narrow)),
        pockets_mm3=sum(pocket.volume_mm3 for pocket in pockets),
        slimness=slimmest.slimness if slimmest else 0.0,
        openings=slimmest.openings if slimmest else 0,
        weight_margin=weakest[0],
        air_margin=weakest[1],
        brush_margin=weakest[2],
    )
    findings = [
        trapped(sealed, narrow, flood.grid.pitch_mm, needed, cell),
        _way_out(slimmest, tool_mm, cell),
    ]
    if walls:
        worst = walls[margins.index(weakest)]
        findings.append(_handling(worst, weakest, cell.powder))
    return met, findings


def _way_out(pocket: ways.Pocket | None, tool_mm: float, cell: Cell) -> Finding:
    """The slimmest way that loose powder has to take out of the part."""
    if pocket is None:
        text = f"No loose powder lies deeper than a tool of {tool_mm:.3g} mm reaches."
        return ok("way out", text, Against(limit=SLIM, source=PRACTICE))
    dead = " It is a dead end: air cannot sweep through." if pocket.openings < 2 else ""
    mass = _mass(pocket.volume_mm3, cell)
    text = (
        f"{mass * 1e3:.3g} g of loose powder leave by {_openings(pocket.openings)}: "
        f"{pocket.length_mm:.3g} mm of way through {pocket.width_mm:.2g} mm at the narrowest, "
        f"{pocket.slimness:.2g} widths long.{dead}"
    )
    against = Against(pocket.slimness, SLIM, "-", PRACTICE)
    remedy = "Widen or shorten the way, or open its far end, so that air sweeps through."
    return risk("way out", text, against, remedy, at_mm=place(pocket.at_mm), unless=pocket.slimness <= SLIM)


def _openings(count: int) -> str:
    return "one opening" if count == 1 else f"{count} openings"


def _mass(volume_mm3: float, cell: Cell) -> float:
    """Of loose powder that fills a volume of the finished part, at green size [kg]."""
    bed = cell.powder.packing.value * cell.powder.solid_density.value
    return volume_mm3 * oversize(cell.powder) ** 3 * 1e-9 * bed


def _margins(wall: reach.StandingWall, powder: Powder) -> tuple[float, float, float]:
    """Green strength over stress: jolted under its own weight, under a jet of air, under a brush."""
    k, strength = oversize(powder), powder.green_strength.value
    length, thickness = wall.reach_mm * k * 1e-3, wall.thickness_mm * k * 1e-3
    density = powder.packing.value * powder.solid_density.value
    return (
        strength / handling.weight_stress(length, thickness, density),
        strength / handling.jet_stress(JET, length, thickness),
        strength / handling.push_stress(PUSH, length, TIP, thickness),
    )


def _handling(wall: reach.StandingWall, margins: tuple[float, float, float], powder: Powder) -> Finding:
    """The wall that bears least, against what is done to it while it is unpacked."""
    weight, air, brush = margins
    strength = powder.green_strength
    least = min(margins)
    sure = f"u {strength.u / strength.value:.0%} of each" if strength.u else "no uncertainty stated"
    text = (
        f"A wall {wall.thickness_mm:.2g} mm thick stands {wall.reach_mm:.3g} mm out. Green strength "
        f"({strength.printed}, {sure}) is {_times(weight)} its stress when jolted under its own weight, "
        f"{_times(air)} that under a {JET:.0f} m/s jet, {_times(brush)} that under a {PUSH:.0f} N brush; "
        f"{MARGIN:.0f} times is asked."
    )
    against, at_mm = Against(least, MARGIN, "-", cited(strength)), place(np.asarray(wall.at_mm))
    care = _care(wall, margins, powder)
    return risk("handling", text, against, care, at_mm=at_mm, unless=least >= MARGIN)


def _times(margin: float) -> str:
    return f"{margin:.2g} times" if margin < 99.5 else "over 99 times"


def _care(wall: reach.StandingWall, margins: tuple[float, float, float], powder: Powder) -> str:
    """What must not be done, gentlest means last, and how thick the finished wall would have to be."""
    weight, air, _ = margins
    k, strength = oversize(powder), powder.green_strength.value
    length, density = wall.reach_mm * k * 1e-3, powder.packing.value * powder.solid_density.value
    if weight < MARGIN:
        stands = handling.wall_for_weight(length, density, strength, margin=MARGIN) / k * 1e3
        thicker = f"or thicken the wall: at {stands:.2g} mm it bears its weight."
        return f"Support it while the cake is opened, {thicker}"
    brushed = handling.wall_for_push(PUSH, length, TIP, strength, MARGIN) / k * 1e3
    thicker = f"or thicken it: at {brushed:.2g} mm it bears the brush."
    if air < MARGIN:
        return f"No brush and no jet at this wall: lift the piece out and let the powder run off, {thicker}"
    return f"No brush at this wall: a soft jet only, {thicker}"
