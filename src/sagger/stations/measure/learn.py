"""What to print next time: factors, scatter and bed map from readings, as a proposal to a person."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.stats import t as student

from sagger.goods.box import Box
from sagger.goods.factors import Factors
from sagger.goods.learned import AxisLearned, BedMap, FactorProposal, Scatter
from sagger.goods.powder import Powder
from sagger.goods.reading import Reading
from sagger.physics.sintering import shrinkage
from sagger.stations.measure.bed_map import bed_map, middle
from sagger.stations.measure.lengths import Lengths, along, local, scatter_of
from sagger.statistics import chance, mixed

REAL = 0.01  # an offset less likely than this by chance is kept; common practice, no source
LOOK, BLOCK = 2.0, 3.0  # standard deviations between old and new; common practice, no source
DEAD_BAND = 2.0  # standard uncertainties; common practice, no source
LENGTH_MM = 50.0  # for which scatter is told in millimetres


def learn(
    readings: tuple[Reading, ...], drawn_mm: ndarray, before: Factors, powder: Powder, box: Box | None
) -> FactorProposal:
    """What readings of sintered lengths say against what is in force.

    Parameters
    ----------
    readings : tuple of Reading
        Lengths of sintered pieces along a machine axis; what else is handed in is left alone. Green
        densities at places of the bed are used for its map.
    drawn_mm : ndarray
        float64 (n,): length that was drawn for each reading, oversize and bleed included.
    before : Factors
        In force, or from the card; with a lot, if what is learnt is to hold for that lot alone.
    powder, box : Powder, Box or None
        Without a box there is no map.

    Raises
    ------
    InputError
        If an axis has fewer than three pieces.

    Source
    ------
    Mixed model by restricted maximum likelihood, `mixed.fitted`; update by Bayes' theorem for two normal
    distributions, `chance.updated`.
    """
    sets = [along(readings, drawn_mm, axis) for axis in "xyz"]
    fits = [_fit(one) for one in sets]
    axes = tuple(
        _axis(axis, one, fit, float(before.k[n]), float(before.u[n]))
        for n, (axis, one, fit) in enumerate(zip("xyz", sets, fits, strict=True))
    )
    scatter = scatter_of(powder.name, sets, fits)
    bed = None if box is None else bed_map(readings, local(sets, fits), scatter.part, powder, box)
    one, by_place = gain(scatter, bed, box)
    return FactorProposal(
        material=powder.name,
        box="" if bed is None or box is None else box.name,
        lot=before.lot,
        axes=axes,
        factors=proposed(axes, before, powder),
        bed=bed,
        scatter=scatter,
        before_scatter_mm=one,
        place_scatter_mm=by_place,
        length_mm=LENGTH_MM,
        notes=_notes(sets, fits, axes),
        readings=tuple(sorted({reading.number for one in sets for reading in one.readings})),
    )


def _fit(one: Lengths) -> mixed.VarianceParts:
    """Ratio of finished to printed length, with an offset of the length if there is one to be told."""
    ratio = one.finished / one.drawn
    groups = {
        "lot": [reading.lot for reading in one.readings],
        "furnace place": [f"{reading.furnace} {reading.place}" for reading in one.readings],
        "bed place": list(one.bed),
        "piece": [f"{reading.box} {reading.piece}" for reading in one.readings],
    }
    if np.ptp(one.drawn) > 0.1 * one.drawn.max():
        wide = mixed.fitted(ratio, groups, (1 / one.drawn)[:, None])
        if _p(wide) < REAL:
            return wide
    return mixed.fitted(ratio, groups)


def _p(fit: mixed.VarianceParts) -> float:
    if len(fit.values) < 2:
        return 1.0
    return float(2 * student.sf(abs(fit.values[1] / fit.u[1]), max(fit.freedom, 2.0)))


def _axis(axis: str, one: Lengths, fit: mixed.VarianceParts, before: float, before_u: float) -> AxisLearned:
    ratio, plain = float(fit.values[0]), shrinkage.through_origin(one.drawn, one.finished)
    offset = len(fit.values) > 1
    seen = FoundAxis(
        readings=len(one.readings),
        pieces=len({(reading.box, reading.piece) for reading in one.readings}),
        ratio=ratio,
        own=float(fit.u[0]),
        shared=ratio * _shared(one.readings),
        freedom=fit.freedom,
        offset=(float(fit.values[1]), float(fit.u[1])) if offset else (0.0, 0.0),
        offset_p=_p(fit),
        origin=(1 / plain.ratio, shrinkage.oversize_uncertainty(plain.ratio, plain.u)),
    )
    return learned(axis, seen, before, before_u)


class FoundAxis(NamedTuple):
    """What readings say along one axis."""

    readings: int
    pieces: int
    ratio: float  # finished over printed length
    own: float  # standard uncertainty of it, by scatter
    shared: float  # and by what readings of one instrument share
    freedom: float  # degrees of freedom of the first
    offset: tuple[float, float]  # of a finished length, whatever its size, with its uncertainty [mm]
    offset_p: float
    origin: tuple[float, float]  # oversize by one line through the origin, with its uncertainty


def learned(axis: str, seen: FoundAxis, before: float, before_u: float) -> AxisLearned:
    """What readings found beside what is in force, and what follows."""
    factor = shrinkage.oversize(seen.ratio)
    own, gauge = (shrinkage.oversize_uncertainty(seen.ratio, u) for u in (seen.own, seen.shared))
    found_u = chance.combined((own, gauge))
    # With few lots the normal distribution is too sure; its width is matched to Student's at 95 %.
    wide = chance.combined((own * float(student.ppf(0.975, seen.freedom)) / 1.96, gauge))
    known = max(before_u, 1e-9)
    z = chance.conflict(before, known, factor, wide)
    weight = known**2 / (known**2 + wide**2)
    belief = chance.updated(before, known, factor, wide)
    verdict = _verdict(z, factor - before, known, wide)
    new = belief if verdict in ("change", "look") else chance.Belief(before, known)
    return AxisLearned(
        axis=axis,
        readings=seen.readings,
        pieces=seen.pieces,
        found=factor,
        found_u=found_u,
        freedom=seen.freedom,
        offset_mm=seen.offset[0],
        offset_u_mm=seen.offset[1],
        offset_p=seen.offset_p,
        origin_k=seen.origin[0],
        origin_u=seen.origin[1],
        before=before,
        before_u=before_u,
        conflict=z,
        weight=weight,
        inflation=chance.inflation(weight),
        k=new.value,
        u=new.u,
        verdict=verdict,
    )


def _shared(readings: tuple[Reading, ...]) -> float:
    """Relative uncertainty that many readings do not lessen: what those of one instrument share.

    Source
    ------
    JCGM 100:2008, 5.2: fully correlated within an instrument, independent between instruments.
    """
    sums: dict[str, float] = {}
    for reading in readings:
        share = reading.u_shared / reading.value
        sums[reading.instrument] = sums.get(reading.instrument, 0.0) + share
    return chance.combined(list(sums.values())) / len(readings)


def _verdict(z: float, change: float, before_u: float, u: float) -> str:
    """No dead band about what is far less sure than what was found, as a card's figures are."""
    if abs(z) > BLOCK:
        return "blocked"
    if abs(change) <= DEAD_BAND * u and before_u <= DEAD_BAND * u:
        return "keep"
    return "look" if abs(z) > LOOK else "change"


def proposed(axes: tuple[AxisLearned, ...], before: Factors, powder: Powder) -> Factors:
    """The factors of a proposal."""
    return Factors(
        k=np.array([axis.k for axis in axes]),
        u=np.array([axis.u for axis in axes]),
        material=powder.name,
        lot=before.lot,
        origin="proposed" if any(axis.verdict in ("change", "look") for axis in axes) else before.origin,
    )


def gain(scatter: Scatter, bed: BedMap | None, box: Box | None) -> tuple[float, float]:
    """Standard deviation of a length in one box with one factor, and with factors by place [mm]."""
    rest = (scatter.furnace, scatter.part, scatter.gauge_mm / LENGTH_MM)
    if bed is None or box is None:
        one = LENGTH_MM * chance.combined((*rest, scatter.bed))
        return one, one
    spread, left = middle(bed, box)
    return LENGTH_MM * chance.combined((*rest, spread)), LENGTH_MM * chance.combined((*rest, left))


def one_group(every: list[Reading]) -> list[str]:
    """What is said where all readings come from one lot, or one place in the furnace."""
    groups = (
        ("lot", {reading.lot for reading in every}),
        ("furnace place", {f"{reading.furnace} {reading.place}" for reading in every}),
    )
    return [
        f"all readings come from one {group}, so nothing is known of how {group}s differ; "
        f"the uncertainty does not cover it"
        for group, names in groups
        if len(names) < 2
    ]


def _notes(
    sets: list[Lengths], fits: list[mixed.VarianceParts], axes: tuple[AxisLearned, ...]
) -> tuple[str, ...]:
    every = [reading for one in sets for reading in one.readings]
    notes = one_group(every)
    if all("bed place" in fit.variance and "piece" not in fit.variance for fit in fits):
        notes.append("each place of the bed held one piece, so its scatter holds that of the piece")
    for axis in axes:
        if axis.offset_mm:
            bleed = axis.offset_mm / 2 * axis.found * 1e3
            notes.append(
                f"along {axis.axis} sizes are off by {axis.offset_mm:+.4f} mm whatever their length "
                f"(p = {axis.offset_p:.2g}); the factor holds with {bleed:.0f} um of bleed in the order"
            )
    return tuple(notes)
