"""Approved factors under the conditions of a job: what a length comes to there, and how sure that is."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.cell import Cell
from sagger.goods.factors import Carried, Conditions, Factors, Foretold
from sagger.goods.learned import Scatter
from sagger.goods.order import Choices
from sagger.goods.part import Part
from sagger.physics.sintering import shrinkage
from sagger.stations.shrink import carried_findings, conditions_differ
from sagger.statistics import chance

HAIR = 2e-3  # of a relative density: no weighing tells less; common practice, no source
FEW = 30  # worlds that must agree with a measured density to be weighed by it
LEAST = 1e-3  # shrinkage below which a body has no direction of its own


class Courses(NamedTuple):
    """What the law makes of the powder in the two furnace runs."""

    then: Foretold
    now: Foretold


class LotScatter(NamedTuple):
    """Relative standard deviation of a length from lot to lot, and what it rests on."""

    value: float
    basis: str


def carry(
    factors: Factors,
    courses: Courses,
    cell: Cell,
    choices: Choices,
    scatter: Scatter | None,
    parts: tuple[Part, ...],
) -> Carried:
    """Approved factors in this job.

    Parameters
    ----------
    factors : Factors
        As approved, with conditions.
    courses : Courses
        Of the powder as it was then, and as it is now, each in its own programme and furnace.
    cell, choices
        Of this job; the powder with the figures of its lot.
    scatter : Scatter or None
        As measured in this shop.
    parts : tuple of Part
        For the words: which length is the largest.

    Returns
    -------
    Carried
        The ratio of volumes follows the law, its ratio along the axes that of the approved factors.

    Source
    ------
    Balance of mass with the law of densification, worlds drawn alike on both sides so that what they share
    drops out (JCGM 101:2008, 7); green densities of two lots are independent.
    """
    then = factors.conditions
    if then is None:
        raise ValueError("factors without conditions cannot be carried")
    now = present(cell, choices, courses.now)
    shift, spread = _shift(factors.k, courses, _likely(then, courses.then))
    u_shift = np.hypot(spread, _greens(then, now))
    usual = _lots(cell, scatter)
    other = usual._replace(value=0.0, basis="") if then.lot and then.lot == now.lot else usual
    carried = Carried(
        then=then,
        now=now,
        shift=shift,
        shift_draws=np.zeros((0, 3)),
        u_shift=u_shift,
        u_lot=other.value,
        lot_basis=other.basis,
        u_untold=usual.value if conditions_differ.untold(then, now) else 0.0,
        approved=factors,
        factors=_right(factors, shift, u_shift),
        printed=choices.factors,
        differs=conditions_differ.words(then, now),
        findings=(),
    )
    return dataclasses.replace(carried, findings=tuple(carried_findings.noticed(carried, parts)))


def present(cell: Cell, choices: Choices, course: Foretold) -> Conditions:
    """What this job is made under, its density as the law foretells it."""
    powder, law, furnace = cell.powder, cell.powder.sintering, cell.furnace
    if law is None or furnace is None:
        raise ValueError("only what is sintered has conditions")
    layer, saturation = choices.layer_um, choices.saturation
    return Conditions(
        basis="this job",
        powder=powder.name,
        lot=cell.lot.name if cell.lot else "",
        green_density=law.green_density.value,
        green_density_u=law.green_density.u,
        grain=powder.d50.value,
        layer=powder.layer.value if layer is None else layer * 1e-6,
        binder=cell.binder.name,
        saturation=cell.binder.saturation.value if saturation is None else saturation,
        head=cell.head.name,
        box=cell.box.name,
        furnace=furnace.name,
        programme=law.programme,
        density=course.density,
        density_u=course.density_u,
    )


def _greens(then: Conditions, now: Conditions) -> float:
    """Relative doubt of a length by green densities that were measured apart."""
    if then.lot == now.lot:
        return 0.0
    return chance.combined([of.green_density_u / of.green_density for of in (then, now)]) / 3


def _likely(then: Conditions, course: Foretold) -> ndarray | None:
    """How well each world agrees with the density that was reached then; None where that was not measured.

    None too where hardly a world agrees: then the law says little of this powder, and nothing is left out.
    """
    if then.density_from == "law":
        return None
    z = (course.density_draws - then.density) / max(then.density_u, HAIR)
    weight = np.exp(-(z**2) / 2)
    alike = float(np.sum(weight)) ** 2 / max(float(np.sum(weight**2)), 1e-300)
    return weight / np.sum(weight) if alike >= FEW else None


def _shift(k: ndarray, courses: Courses, weight: ndarray | None) -> tuple[ndarray, ndarray]:
    """Finished length now over then along x, y, z, and its relative standard uncertainty.

    Source
    ------
    Bayes' theorem by weights on the draws, where the density reached then is known.
    """
    drawn = _lengths(k, courses.now.volume_draws / courses.then.volume_draws)
    if weight is None:
        ratio = np.array([courses.now.volume / courses.then.volume])
        shift = _lengths(k, ratio)[0]
        return shift, np.std(drawn, axis=0) / shift
    shift = weight @ drawn
    return shift, np.sqrt(weight @ (drawn - shift) ** 2) / shift


def _lengths(k: ndarray, ratio: ndarray) -> ndarray:
    """Finished length at `ratio` times the ratio of volumes of the factors, over that at theirs, (n, 3)."""
    s = 1 - 1 / k
    if s.min() < LEAST:
        return np.repeat(ratio[:, None] ** (-1 / 3), 3, axis=1)
    y, z = s[1] / s[0], s[2] / s[0]
    volume = float(np.prod(k))
    then = shrinkage.ratios(1 / volume, 1.0, y, z)
    return np.asarray(shrinkage.ratios(1 / np.maximum(volume * ratio, 1.0), 1.0, y, z) / then)


def _lots(cell: Cell, scatter: Scatter | None) -> LotScatter:
    """As measured on two lots or more, else as the powder card has it."""
    if scatter is not None and scatter.lots > 1:
        return LotScatter(scatter.lot, "readings")
    law = cell.powder.sintering
    known = law.lot_scatter if law else None
    return LotScatter(known.value, "card") if known else LotScatter(0.0, "")


def _right(approved: Factors, shift: ndarray, u_shift: ndarray) -> Factors:
    """The factors that bring a length to nominal in this job."""
    k = approved.k / shift
    return dataclasses.replace(
        approved,
        k=k,
        u=k * np.hypot(approved.u / approved.k, u_shift),
        origin=f"{approved.origin}, carried to this job's conditions",
    )
