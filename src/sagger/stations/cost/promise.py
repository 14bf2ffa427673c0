"""The chance that each overall size lies inside its tolerance."""

from __future__ import annotations

import numpy as np

from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.job import Build
from sagger.goods.learned import Approved
from sagger.goods.quote import Promise
from sagger.goods.sintered import Sintered
from sagger.physics import chance, tolerance
from sagger.physics.tolerance import half_width_mm
from sagger.stations.cost.scatter import FACTOR, Axis, axis_of

COVERAGE = 2.0  # expanded uncertainty at about 95 % (JCGM 100, 6.3.3)
ENOUGH = 0.95  # a size met less often than this is pointed at; common practice, no source
DOUBT = {"oversize factor": "doubt about the factor", "mean size": "the expected size off nominal"}
REMEDY = {
    FACTOR: "Fire and measure coupons to narrow the factors",
    "mean size": "Approve factors that bring the mean to nominal",
    "lot": "Measure coupons of this lot and approve factors for it",
    "bed place": "Map the bed and let by_place size each piece, or mend the spreading",
    "furnace place": "Keep pieces out of the worst places of the furnace, or mend its evenness",
    "furnace uniformity": "Survey the furnace and keep pieces where it is even",
    "part to part": "Sort pieces after measuring, or find what differs from piece to piece",
    "drop lattice": "Choose a finer head or layer, or snap",
    "gauge": "Measure with a better instrument, or several times",
}


def promises(
    greens: tuple[Green, ...],
    builds: tuple[Build, ...],
    sintered: Sintered | None,
    cell: Cell,
    approved: Approved,
) -> tuple[tuple[Promise, ...], tuple[Finding, ...]]:
    """One promise per part and size that has a tolerance; findings where it has none or is at risk.

    Expected size = nominal x factor x forecast ratio while the factors come from the card. Factors measured
    in this shop know better than the forecast, so with them the expected size is the nominal one. Scatter
    measured in this shop goes before that of the cards.
    """
    kept: list[Promise] = []
    findings: list[Finding] = []
    for part, green in enumerate(greens):
        if green.part.request.held:  # a coupon is made to be measured; nothing is promised of it
            continue
        axes = [axis_of(axis, green, builds, sintered, cell, approved) for axis in range(3)]
        mine, unstated = _promised(part, green, axes, _turns(part, builds))
        kept += mine
        findings += [*unstated, *_at_risk(mine, green), *_disagreement(axes, green)]
    return tuple(kept), tuple(findings)


def _promised(
    part: int, green: Green, axes: list[Axis], turns: list[int]
) -> tuple[list[Promise], list[Finding]]:
    kept, findings = [], []
    for index, dimension in enumerate("xyz"):
        nominal = float(green.part.extent_mm[index])
        half = half_width_mm(nominal, green.part.request.tolerance)
        if half is None:
            findings.append(_unstated(nominal, dimension, green))
            continue
        machine = {int(np.argmax(np.abs(green.part.turns[turn][:, index]))) for turn in turns}
        each = [_promise(part, dimension, nominal, half, axes[axis]) for axis in sorted(machine)]
        kept.append(min(each, key=lambda promise: promise.chance))
    return kept, findings


def _turns(part: int, builds: tuple[Build, ...]) -> list[int]:
    """Orientations that the pieces of a part lie in."""
    return sorted({piece.turn for build in builds for piece in build.layout.pieces if piece.part == part})


def _promise(part: int, dimension: str, nominal: float, half: float, axis: Axis) -> Promise:
    finished = nominal * axis.size
    named = {name: finished * share for name, share in axis.relative.items()} | axis.fixed_mm
    u = chance.combined(list(named.values()))
    lower, upper = nominal - half, nominal + half
    shares = chance.shares(list(named.values())).tolist()
    without = {name: chance.combined([v for n, v in named.items() if n != name]) for name in named}
    raised = {name: chance.within(finished, left, lower, upper) for name, left in without.items()}
    raised["mean size"] = chance.within(nominal, u, lower, upper)
    return Promise(
        part=part,
        dimension=dimension,
        nominal_mm=nominal,
        lower_mm=lower,
        upper_mm=upper,
        u_mm=u,
        shares=tuple(zip(named, shares, strict=True)),
        chance=chance.within(finished, u, lower, upper),
        without=tuple(sorted(raised.items(), key=lambda each: -each[1])),
    )


def _unstated(nominal: float, dimension: str, green: Green) -> Finding:
    grade, name = green.part.request.tolerance.grade, green.part.request.name
    small = nominal < tolerance.LEAST_MM
    why = (
        f"below {tolerance.LEAST_MM:g} mm the tolerance must be stated at the dimension"
        if small
        else f"class {grade} gives no value at this size"
    )
    return Finding(
        level="look",
        what="tolerance not stated",
        text=f"{name}, {dimension} = {nominal:.3f} mm: {why}, so nothing is promised for it.",
        value=nominal,
        limit=tolerance.LEAST_MM if small else None,
        unit="mm",
        source="ISO 2768-1, table 1",
        remedy="State a tolerance in mm for this part.",
    )


def _at_risk(mine: list[Promise], green: Green) -> list[Finding]:
    weak = [promise for promise in mine if promise.chance < ENOUGH]
    if not weak:
        return []
    worst = min(weak, key=lambda promise: promise.chance)
    best, raised = worst.without[0]
    half = (worst.upper_mm - worst.lower_mm) / 2
    asked = f"{green.part.request.name}, {worst.dimension} = {worst.nominal_mm:.3f} ± {half:.3f} mm"
    return [
        Finding(
            level="look",
            what="tolerance at risk",
            text=f"{asked} is met by {worst.chance:.1%} of pieces; "
            f"standard uncertainty {worst.u_mm:.3f} mm. Without {DOUBT.get(best, best)} it would be "
            f"{raised:.1%}.",
            value=worst.chance,
            limit=ENOUGH,
            unit="-",
            source="common practice, no source",
            remedy=f"{REMEDY[best]}, or agree a wider tolerance.",
        )
    ]


def _disagreement(axes: list[Axis], green: Green) -> list[Finding]:
    """Factors on the green part against what the furnace is expected to give back."""
    off = [(abs(axis.size - 1), axis, name) for axis, name in zip(axes, "xyz", strict=True)]
    apart, axis, name = max(off, key=lambda each: each[0] - COVERAGE * each[1].relative[FACTOR])
    if apart <= COVERAGE * axis.relative[FACTOR]:
        return []
    k = green.factors.k["xyz".index(name)]
    return [
        Finding(
            level="look",
            what="factor against forecast",
            text=f"{green.part.request.name} is enlarged {k:.4f} times along {name}, "
            f"but the furnace forecast makes it {axis.size - 1:+.2%} off size.",
            value=axis.size - 1,
            limit=COVERAGE * axis.relative[FACTOR],
            unit="-",
            source="card and viscous law",
            remedy="Correct the powder card from coupons, or approve measured factors.",
        )
    ]
