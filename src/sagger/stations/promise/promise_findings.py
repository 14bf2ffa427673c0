"""What is to be said of a promise: no tolerance, sizes and numbers at risk, factors that disagree."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from sagger.goods.finding import PRACTICE, Against, Finding, about, advice, risk
from sagger.goods.green import Green
from sagger.goods.promised import PiecePromise, Promise
from sagger.stations.promise.contact_doubt import RAW
from sagger.stations.promise.edges_doubt import BLEED, EDGE, LATTICE, SAG, STEPS
from sagger.stations.promise.lengths_doubt import (
    BED,
    CAST,
    CONDITIONS,
    FACTOR,
    LOTS,
    PART,
    PLACE,
    RUN,
    UNEVEN,
    Furnished,
)
from sagger.stations.promise.raising import PromiseCase
from sagger.statistics import tolerance

COVERAGE = 2.0  # expanded uncertainty at about 95 % (JCGM 100, 6.3.3)
ENOUGH = 0.95  # a size met less often than this is pointed at; common practice, no source
MEAN = "mean size"
DOUBT = {FACTOR: "doubt about the factor", MEAN: "the expected size off nominal"}
REMEDY = {
    FACTOR: "Fire and measure coupons to narrow the factors",
    CAST: "Measure castings of your own to narrow the contraction",
    CONDITIONS: "Measure coupons made under this job's conditions and approve factors",
    MEAN: "Approve factors that bring the mean to nominal",
    LOTS: "Measure coupons of this lot and approve factors for it",
    BED: "Map the bed and let by_place size each piece, or mend the spreading",
    PLACE: "Keep pieces out of the worst places of the furnace, or mend its evenness",
    UNEVEN: "Survey the furnace and keep pieces where it is even",
    RUN: "Check the furnace's thermocouples and put coupons into every load",
    PART: "Sort pieces after measuring, or find what differs from piece to piece",
    LATTICE: "Choose a finer head or layer, or snap",
    SAG: "Support the part, lay it otherwise, or have it pre-deformed",
    BLEED: "Print bleed coupons and put what they show on the powder card",
    EDGE: "Look for what roughens edges: drops, spreading, brushing",
    STEPS: "Choose a finer layer, or lay the part otherwise",
    RAW: "Measure with plugs what bleeding leaves of raw drops, or ream",
}


def findings(
    jobs: Sequence[PromiseCase], sizes: Sequence[Promise], pieces: Sequence[PiecePromise]
) -> Iterator[Finding]:
    """Part by part."""
    for job, piece in zip(jobs, pieces, strict=True):
        mine = [size for size in sizes if size.part == piece.part]
        noticed = (*_unstated(job.green, mine), *_at_risk(mine, job.green), *_short(piece, job.green))
        for finding in (*noticed, *_disagreement(job.of, job.green)):
            yield about(piece.part, finding)


def _unstated(green: Green, mine: list[Promise]) -> Iterator[Finding]:
    grade, name = green.part.request.tolerance.grade, green.part.request.name
    stated = {size.dimension for size in mine}
    for dimension, nominal in zip("xyz", green.part.extent_mm, strict=True):
        if dimension in stated:
            continue
        small = nominal < tolerance.LEAST_MM
        why = (
            f"below {tolerance.LEAST_MM:g} mm the tolerance must be stated at the dimension"
            if small
            else f"class {grade} gives no value at this size"
        )
        yield advice(
            "tolerance not stated",
            f"{name}, {dimension} = {nominal:.3f} mm: {why}, so nothing is promised for it.",
            Against(nominal, tolerance.LEAST_MM if small else None, "mm", "ISO 2768-1, table 1"),
            "State a tolerance in mm for this part.",
        )


def _at_risk(mine: list[Promise], green: Green) -> Iterator[Finding]:
    weak = [promise for promise in mine if promise.chance < ENOUGH]
    if not weak:
        return
    worst = min(weak, key=lambda promise: promise.chance)
    best, raised = worst.without[0]
    half = (worst.upper_mm - worst.lower_mm) / 2
    asked = f"{green.part.request.name}, {worst.dimension} = {worst.nominal_mm:.3f} ± {half:.3f} mm"
    text = (
        f"{asked} is met by {worst.chance:.1%} of pieces; standard uncertainty {worst.u_mm:.3f} mm. "
        f"Without {DOUBT.get(best, best)} it would be {raised:.1%}."
    )
    against = Against(worst.chance, ENOUGH, "-", PRACTICE)
    remedy = REMEDY.get(best, f"Look for what makes {best} so large")
    yield risk("tolerance at risk", text, against, f"{remedy}, or agree a wider tolerance.")


def _short(piece: PiecePromise, green: Green) -> Iterator[Finding]:
    """Started pieces that hold as many good ones as asked less often than asked for."""
    name, sure = green.part.request.name, _percent(piece.sure)
    text = (
        f"{name}: {piece.started} started hold {piece.asked} good in {_percent(piece.enough)} of orders, "
        f"{piece.expected:.1f} on average."
    )
    if piece.least is None:
        remedy = (
            f"No number reaches {sure}: a bad lot spoils all pieces ({_percent(piece.ceiling)} at best). "
        )
        remedy += f"What helps most: {piece.raised[0].name}." if piece.raised else "Agree a wider tolerance."
    else:
        more = piece.least - piece.asked
        remedy = f"Start {piece.least} (spares = {more}) for {piece.asked} good in {sure} of orders."
    against = Against(piece.enough, piece.sure, "-", "asked by the order")
    yield risk("number started", text, against, remedy, unless=piece.enough >= piece.sure)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _disagreement(of: Furnished, green: Green) -> Iterator[Finding]:
    """Factors on the green part against what the furnace is expected to give back."""
    if of.sintered is None or of.factors.origin != "card":
        return
    off = of.factors.k * of.sintered.ratio - 1
    law = of.sintered.ratio_u**2 - of.sintered.ratio_u_furnace**2 - of.sintered.ratio_u_load**2
    forecast = np.sqrt(np.maximum(law, 0.0)) / of.sintered.ratio
    allowed = COVERAGE * np.maximum(of.factors.u / of.factors.k, forecast)
    axis = int(np.argmax(np.abs(off) - allowed))
    if abs(off[axis]) <= allowed[axis]:
        return
    yield risk(
        "factor against forecast",
        f"{green.part.request.name} is enlarged {of.factors.k[axis]:.4f} times along {'xyz'[axis]}, "
        f"but the furnace forecast makes it {off[axis]:+.2%} off size.",
        Against(float(off[axis]), float(allowed[axis]), "-", "card and viscous law"),
        "Correct the powder card from coupons, or approve measured factors.",
    )
