"""Factors, bleed and scatter from every length of the drawing at once, as one proposal to a person."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy import ndarray
from scipy.stats import t as student

from sagger.errors import InputError
from sagger.goods.box import Box
from sagger.goods.factors import Factors
from sagger.goods.learned import AxisLearned, BleedLearned, FactorProposal, Scatter
from sagger.goods.powder import Powder
from sagger.goods.reading import Reading
from sagger.physics.sintering import shrinkage
from sagger.stations.measure.bed_map import bed_map
from sagger.stations.measure.learn import LENGTH_MM, FoundAxis, gain, learned, one_group, proposed
from sagger.stations.measure.length_levers import (
    BLEED,
    SOAK,
    Levered,
    SoughtTerms,
    alone,
    averaged,
    share,
    terms,
    told,
)
from sagger.stations.measure.lengths import LEAST_PIECES, place_of
from sagger.statistics import many_lengths
from sagger.statistics.many_lengths import FACES, REST, LengthRows, ManyLengths

MOST = 500  # readings that are looked at, the newest
ALONG = 0.4  # of a length along an axis, from which on it is counted as one of that axis: a bore is of two
NO_BLEED = "bleed cannot be told from shrinkage: read bores and outsides, or outsides of several sizes"
NO_SOAK = "soaking cannot be told from the factor along z, and is taken as compensated"


def learn_drawn(
    measured: Sequence[Levered],
    readings: tuple[Reading, ...],
    before: Factors,
    powder: Powder,
    box: Box | None,
) -> FactorProposal:
    """What sizes of the drawing and outside lengths say together against what is in force.

    Parameters
    ----------
    measured : sequence of Levered
        Finished lengths.
    readings : tuple of Reading
        All there are; green densities at places of the bed are used for its map.
    before, powder, box
        As of `learn`.

    Raises
    ------
    InputError
        If an axis has lengths of fewer than three pieces.

    Source
    ------
    Generalised least squares, `many_lengths.fitted`: finished = sum of ratio x printed + bleed x lever, with
    relative scatter by lot, furnace place, bed place and piece, and scatter of faces that does not grow.
    """
    lengths = averaged(measured)
    mine = lengths[-MOST:]
    _refuse_few(mine)
    sought = told(mine)
    fit = many_lengths.fitted(_rows(mine, sought, powder), _groups(mine, sought, powder))
    axes = tuple(_axis(axis, mine, fit, before, sought) for axis in range(3))
    scatter = _scatter(powder.name, mine, fit)
    bed = None if box is None else bed_map(readings, _local(mine, fit, sought), scatter.part, powder, box)
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
        notes=(*_notes(mine, fit, sought), *_cut(len(lengths))),
        readings=tuple(sorted({each.reading.number for each in measured})),
        bleed=_bleed(mine, fit, sought),
    )


def _refuse_few(mine: list[Levered]) -> None:
    for axis, name in enumerate("xyz"):
        pieces = {(one.reading.box, one.reading.piece) for one in mine if share(one.lever, axis) > ALONG}
        if len(pieces) < LEAST_PIECES:
            raise InputError(
                f"factors need {LEAST_PIECES} pieces with a sintered length along {name} at least",
                field=name,
                value=len(pieces),
                remedy="Measure more pieces or more lines of the drawing; one part says nothing of the next.",
            )
        if not alone(mine, axis):
            what = f"the factor along {name} cannot be told from the others by bores and pins alone"
            raise InputError(what, field=name, remedy=f"Measure a distance or an overall size along {name}.")


def _rows(mine: list[Levered], sought: SoughtTerms, powder: Powder) -> LengthRows:
    """Lengths with what was taken off outlines put on again, where its true amount is sought."""
    table, count = terms(mine), len(mine)
    taken = np.array([one.lever.taken for one in mine]) * (sought.bleed, sought.soak)
    values = np.array([one.reading.value * 1e3 for one in mine]) + (taken * table[:, BLEED:]).sum(axis=1)
    known = _known_soaking(mine, sought, powder)
    own = LengthRows(
        values=np.append(values, [known[0]] if known else []),
        terms=np.concatenate([table, np.eye(5)[SOAK:] if known else np.zeros((0, 5))])[:, sought.picked],
        lengths=np.append([one.lever.length for one in mine], [0.0] if known else []),
        u=np.append([one.reading.u * 1e3 for one in mine], [known[1]] if known else []),
        u_shared=np.append([one.reading.u_shared * 1e3 for one in mine], [0.0] if known else []),
        instruments=[*(one.reading.instrument for one in mine), *([""] if known else [])],
    )
    assert len(own.values) == count + bool(known)
    return own


def _known_soaking(mine: list[Levered], sought: SoughtTerms, powder: Powder) -> tuple[float, float] | None:
    """What the card says of soaking, as one more row: few lengths along z tell it from the factor [mm]."""
    doubt = powder.bleed_depth if powder.bleed_depth is not None and powder.bleed_depth.u else None
    u = doubt.u if doubt else powder.bleed_doubt.value if powder.bleed_doubt else 0.0
    if not sought.soak or not u:
        return None
    taken = float(np.mean([one.lever.taken[1] for one in mine]))
    return (doubt.value * 1e3 if doubt else taken), u * 1e3


def _groups(mine: list[Levered], sought: SoughtTerms, powder: Powder) -> dict[str, list[str]]:
    readings = [one.reading for one in mine]
    if _known_soaking(mine, sought, powder):
        readings.append(readings[0])  # its row has no length, so it takes no part in any group
    return {
        "lot": [reading.lot for reading in readings],
        "furnace place": [f"{reading.furnace} {reading.place}" for reading in readings],
        "bed place": [place_of(reading) for reading in readings],
        "piece": [f"{reading.box} {reading.piece}" for reading in readings],
    }


def _axis(
    axis: int, mine: list[Levered], fit: ManyLengths, before: Factors, sought: SoughtTerms
) -> AxisLearned:
    along = [one for one in mine if share(one.lever, axis) > ALONG]
    ratio = float(fit.values[axis])
    term, ends = (sought.picked.index(SOAK), 1) if axis == 2 and sought.soak else (BLEED, 2)
    there = sought.soak if axis == 2 else sought.bleed
    offset, offset_u = (ends * ratio * float(of[term]) for of in (fit.values, fit.u)) if there else (0.0, 0.0)
    plain = shrinkage.through_origin(
        [float(one.lever.drawn.sum()) for one in along], [one.reading.value * 1e3 for one in along]
    )
    seen = FoundAxis(
        readings=len(along),
        pieces=len({(one.reading.box, one.reading.piece) for one in along}),
        ratio=ratio,
        own=math.sqrt(float(fit.covariance[axis, axis])),
        shared=math.sqrt(float(fit.shared[axis, axis])),
        freedom=float(fit.freedom[axis]),
        offset=(offset, offset_u),
        offset_p=_p(fit, term) if there else 1.0,
        origin=(1 / plain.ratio, shrinkage.oversize_uncertainty(plain.ratio, plain.u)),
    )
    return learned("xyz"[axis], seen, float(before.k[axis]), float(before.u[axis]))


def _p(fit: ManyLengths, term: int) -> float:
    return float(2 * student.sf(abs(fit.values[term]) / fit.u[term], max(float(fit.freedom[term]), 2.0)))


def _bleed(mine: list[Levered], fit: ManyLengths, sought: SoughtTerms) -> BleedLearned | None:
    if not sought.bleed:
        return None
    kinds = Counter(int(np.sign(round(one.lever.bleed, 6))) for one in mine)
    soak = sought.picked.index(SOAK) if sought.soak else None
    return BleedLearned(
        found_mm=float(fit.values[BLEED]),
        u_mm=float(fit.u[BLEED]),
        freedom=float(fit.freedom[BLEED]),
        p=_p(fit, BLEED),
        taken_mm=float(np.mean([one.lever.taken[0] for one in mine])),
        bores=kinds[-1],
        outsides=kinds[1],
        steps=kinds[0],
        soaking_mm=None if soak is None else float(fit.values[soak]),
        soaking_u_mm=None if soak is None else float(fit.u[soak]),
    )


def _scatter(material: str, mine: list[Levered], fit: ManyLengths) -> Scatter:
    """Relative scatter by where it comes from; that of faces is told for a usual length."""
    readings = [one.reading for one in mine]
    typical = float(np.mean([one.lever.length for one in mine]))
    own = (fit.variance.get("piece", 0.0), fit.variance[REST], fit.variance[FACES] / typical**2)
    return Scatter(
        material=material,
        lot=math.sqrt(fit.variance.get("lot", 0.0)),
        bed=math.sqrt(fit.variance.get("bed place", 0.0)),
        furnace=math.sqrt(fit.variance.get("furnace place", 0.0)),
        part=math.sqrt(math.fsum(own)),
        gauge_mm=float(np.mean([reading.u for reading in readings])) * 1e3,
        readings=len(readings),
        lots=len({reading.lot for reading in readings}),
        beds=len({place_of(reading) for reading in readings}),
        furnaces=len({f"{reading.furnace} {reading.place}" for reading in readings}),
        origin="readings",
    )


def _local(
    mine: list[Levered], fit: ManyLengths, sought: SoughtTerms
) -> dict[str, tuple[ndarray, float, int]]:
    """By place of the bed: where it is, finished over expected length there, and from how many pieces."""
    table = terms(mine)[:, sought.picked]
    taken = np.array([one.lever.taken for one in mine]) * (sought.bleed, sought.soak)
    values = np.array([one.reading.value * 1e3 for one in mine])
    values = values + (taken * terms(mine)[:, BLEED:]).sum(axis=1) - table[:, 3:] @ fit.values[3:]
    rows: dict[str, list[tuple[ndarray, float, tuple[str, str]]]] = {}
    for one, value, expected in zip(
        mine, values.tolist(), (table[:, :3] @ fit.values[:3]).tolist(), strict=True
    ):
        of = one.reading
        if of.at_mm is None or one.lever.length < 0.2 * LENGTH_MM:
            continue
        known = fit.levels.get("lot", {}).get(of.lot, 0.0)
        known += fit.levels.get("furnace place", {}).get(f"{of.furnace} {of.place}", 0.0)
        row = (np.array(of.at_mm), value / expected - known, (of.box, of.piece))
        rows.setdefault(place_of(of), []).append(row)
    return {
        bed: (
            np.mean([at for at, _, _ in many], axis=0),
            float(np.mean([ratio for _, ratio, _ in many])),
            len({piece for _, _, piece in many}),
        )
        for bed, many in rows.items()
    }


def _cut(count: int) -> tuple[str, ...]:
    return (f"only the newest {MOST} of {count} lengths were looked at",) if count > MOST else ()


def _notes(mine: list[Levered], fit: ManyLengths, sought: SoughtTerms) -> tuple[str, ...]:
    notes = one_group([one.reading for one in mine])
    if "bed place" in fit.variance and "piece" not in fit.variance:
        notes.append("each place of the bed held one piece, so its scatter holds that of the piece")
    if fit.variance[FACES]:
        faces = 1e3 * math.sqrt(fit.variance[FACES])
        notes.append(f"beside what grows with a length, each length scatters by {faces:.0f} um for itself")
    notes += [] if sought.bleed else [NO_BLEED]
    notes += [] if sought.soak or not any(one.lever.soak for one in mine) else [NO_SOAK]
    return tuple(notes)
