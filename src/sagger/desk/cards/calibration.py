"""Coupons evaluated into the sintering figures of a shop's own powder card."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.constants import g

from sagger.desk.cards import own_cards
from sagger.desk.cards.calibration_card import figure, key, write
from sagger.desk.cards.own_cards import CardFigure
from sagger.errors import InputError, LawError
from sagger.files import coupons as table
from sagger.goods.good import good
from sagger.goods.powder import Powder, Sintering
from sagger.goods.reading import BadRow
from sagger.physics.sintering import calibration, master_curve
from sagger.physics.sintering.master_curve import MasterCurve
from sagger.statistics.chance import Belief
from sagger.units import into

ROOM = 293.15  # temperature at which a firing begins and ends [K]; assumed
COOLING = 10.0 / 60  # where a firing does not say how it cools [K/s]; common practice, no source
U_DENSITY = 0.003  # of a density from mass and size, or by Archimedes; common practice, no source [-]
POOR = 0.01  # of density, beyond which the law is doubtful; common practice, no source
CARD = "card"  # name of the firing that is the card's own programme


@good
class CalibrationInput:
    """What was measured, and how well."""

    powder: str
    coupons: Path | None
    firings: Path | None
    runs: Path | None
    reading_mm: float
    thermometer: float  # standard uncertainty of a run's temperature [K]
    keep: bool


class Evidence(NamedTuple):
    """The good rows of all tables, and the others."""

    cubes: list[table.CouponRow]
    bridges: list[table.CouponRow]
    firings: dict[str, list[table.FiringStretch]]
    runs: dict[str, table.DilatometerRun]
    read: str  # of the runs: density or shrinkage
    bad: list[tuple[str, BadRow]]


class LeftOut(NamedTuple):
    """A row of a table that was not used, and why."""

    file: str
    line: int
    column: int
    name: str
    what: str


@good
class CalibrationDocument:
    """What coupons and runs say, for --json."""

    schema: str = "sagger-calibration/1"
    powder: str
    figures: Mapping[str, dict[str, str]]  # as the card would write them
    left_out: tuple[LeftOut, ...]
    card: str | None  # where it was kept


def evaluate(asked: CalibrationInput) -> tuple[CalibrationDocument, list[str]]:
    """Document and lines of what coupons and runs say; kept on the shop's own card if asked.

    Raises
    ------
    InputError
        If a table is refused, the powder is not sintered, or the rows left say too little.
    """
    powder = own_cards.without(asked.powder, key((asked.coupons, asked.firings, asked.runs)))
    card = powder.sintering
    if card is None:
        raise InputError("this powder is not sintered", field="POWDER", value=asked.powder)
    evidence = _evidence(asked)
    try:
        figures, lines = _figures(evidence, powder, card, asked)
    except LawError as error:
        raise InputError(
            str(error), field="readings", remedy="See the rows left out, or measure more."
        ) from None
    left_out = [f"LEFT OUT {file}, line {row.line}, {row.name}: {row.what}" for file, row in evidence.bad]
    before = {name: getattr(card, name) for name in figures}
    lines += ["for the card, below [sintering]:"] if figures else ["nothing to put on the card"]
    for name, entry in figures.items():
        u = f" (u {entry.u})" if entry.u else ""
        old = before[name]
        says = f"; the card says {old.printed} ({old.standing})" if old is not None else "; not on the card"
        lines.append(f"  {name} = {entry.value}{u}{says}")
    written_to = (
        write(asked.powder, figures, (asked.coupons, asked.firings, asked.runs))
        if asked.keep and figures
        else None
    )
    lines.append(own_cards.fate(written_to))
    document = CalibrationDocument(
        powder=asked.powder,
        figures={name: own_cards.written(entry) for name, entry in figures.items()},
        left_out=tuple(LeftOut(file, row.line, row.column, row.name, row.what) for file, row in evidence.bad),
        card=str(written_to) if written_to else None,
    )
    return document, [*left_out, *lines]


def _evidence(asked: CalibrationInput) -> Evidence:
    rows, bad = table.coupons(asked.coupons) if asked.coupons else ([], [])
    programmes, bad_firings = table.firings(asked.firings) if asked.firings else ({}, [])
    runs, bad_runs, read = table.runs(asked.runs) if asked.runs else ({}, [], "")
    named = [
        (path.name, row)
        for path, faults in ((asked.coupons, bad), (asked.firings, bad_firings), (asked.runs, bad_runs))
        if path is not None
        for row in faults
    ]
    cubes = [each for each in rows if each.kind == "cube"]
    return Evidence(cubes, [each for each in rows if each.kind == "bridge"], programmes, runs, read, named)


def _figures(
    evidence: Evidence, powder: Powder, card: Sintering, asked: CalibrationInput
) -> tuple[dict[str, CardFigure], list[str]]:
    figures: dict[str, CardFigure] = {}
    lines: list[str] = []
    solid, source = powder.solid_density.value, key((asked.coupons, asked.firings, asked.runs))
    green = Belief(card.green_density.value, card.green_density.u)
    if evidence.cubes:
        green = _from_cubes(evidence, solid, asked, figures, source)
        lines.append(f"{len(evidence.cubes)} cubes: direction of shrinkage, scatter, densities")
    radius = card.capillary_radius.value
    if evidence.bridges:
        soft = _from_bridges(evidence, card, solid, green, asked)
        radius = soft.value * card.surface_energy.value
        where = f"{len(evidence.bridges)} bridges; only r/alpha counts, with the card's surface_energy"
        figures["capillary_radius"] = figure(
            radius * 1e6, soft.u * card.surface_energy.value * 1e6, "um", where, source
        )
        lines.append(f"r/α {soft.value:.3g} m²/N (u {soft.u:.2g}) from {len(evidence.bridges)} bridges")
    master, where = _master(evidence, card, solid, green, asked)
    if master is not None:
        lines.append(
            f"α/(η r) from {where}: activation energy {master.energy / 1e3:.1f} kJ/mol (u "
            f"{master.energy_u / 1e3:.1f}), speed known to {master.log_speed_u:.1%} at "
            f"{into(master.pivot, 'degC'):.0f} °C, misfit {master.misfit:.2%} of density"
        )
        lines += _other_curve(evidence, green.value, master)
        figures |= _viscosity(master, where, card, radius, source)
    elif evidence.bridges:  # alpha / (r eta) stays as it was
        factor = card.viscosity_factor.value * card.capillary_radius.value / radius
        u = card.viscosity_factor.u * factor / card.viscosity_factor.value
        where = "the card's own, kept together with the new capillary_radius: alpha / (r eta) is as before"
        standing = card.viscosity_factor.standing
        figures["viscosity_factor"] = figure(factor, u, "Pa.s/K", where, source)._replace(standing=standing)
    return figures, lines


def _from_cubes(
    evidence: Evidence, solid: float, asked: CalibrationInput, figures: dict[str, CardFigure], source: str
) -> Belief:
    """Figures that cubes give; the green density comes back, because the others need it."""
    before = np.array([cube.green for cube in evidence.cubes], float)
    after = np.array([cube.after for cube in evidence.cubes], float)
    fired = [cube.firing for cube in evidence.cubes]
    ways = calibration.directions(before, after, asked.reading_mm * 1e-3, fired)
    where = f"{len(before)} cubes, readings u {asked.reading_mm * 1e3:.0f} um"
    figures["anisotropy_y"] = figure(ways.y.value, ways.y.u, "-", where, source)
    figures["anisotropy_z"] = figure(ways.z.value, ways.z.u, "-", where, source)
    if ways.scatter.value > 0:
        figures["scatter"] = figure(100 * ways.scatter.value, 100 * ways.scatter.u, "%", where, source)
    starts = [_start(cube, solid) for cube in evidence.cubes]
    known = [start for start in starts if start is not None]
    ends = [end for cube in evidence.cubes if cube.firing == CARD and (end := _end(cube, solid)) is not None]
    if ends:
        belief = calibration.mean_density(ends, U_DENSITY)
        figures["sintered_density"] = figure(belief.value, belief.u, "-", f"{len(ends)} cubes", source)
    green = calibration.mean_density(known, U_DENSITY) if known else None
    if green is None:
        raise LawError("no cube says its mass, so the green density is not known")
    figures["green_density"] = figure(green.value, green.u, "-", f"{len(known)} cubes", source)
    return green


def _start(coupon: table.CouponRow, solid: float) -> float | None:
    """Relative green density of a cube: what is left after firing tells the powder without its binder."""
    mass = coupon.mass or coupon.mass_green
    volume = float(np.prod([side or 0.0 for side in coupon.green]))
    return None if mass is None or not volume else mass / (volume * solid)


def _end(coupon: table.CouponRow, solid: float) -> float | None:
    """Relative density of a cube after firing."""
    if coupon.density is not None or coupon.mass is None:
        return coupon.density
    return coupon.mass / (float(np.prod([side or 0.0 for side in coupon.after])) * solid)


def _from_bridges(
    evidence: Evidence, card: Sintering, solid: float, green: Belief, asked: CalibrationInput
) -> Belief:
    bars = [
        calibration.Bridge(
            coupon.span or 0.0, coupon.green[2] or 0.0, coupon.sag or 0.0, coupon.span_after or 0.0
        )
        for coupon in evidence.bridges
    ]
    beside = {coupon.firing for coupon in evidence.bridges}
    after = [_end(coupon, solid) for coupon in evidence.cubes if coupon.firing in beside]
    own = [coupon.density for coupon in evidence.bridges if coupon.density]
    measured = own or [density for density in after if density is not None]
    end = (
        calibration.mean_density(measured, U_DENSITY)
        if measured
        else Belief(card.sintered_density.value, card.sintered_density.u)
    )
    return calibration.softness(bars, green, end, solid * g, asked.reading_mm * 1e-3)


def _master(
    evidence: Evidence, card: Sintering, solid: float, green: Belief, asked: CalibrationInput
) -> tuple[MasterCurve | None, str]:
    if evidence.runs:
        curves = [_curve(run, evidence.read, green.value) for run in evidence.runs.values()]
        return master_curve.from_runs(curves, asked.thermometer), f"{len(curves)} dilatometer runs"
    programmes = {CARD: [table.FiringStretch(row.rate, row.target, row.hold) for row in card.programme]}
    programmes |= evidence.firings
    fired = []
    for cube in evidence.cubes:
        end = _end(cube, solid)
        if end is None:
            continue
        if cube.firing not in programmes:
            raise LawError(f"coupon {cube.name} saw firing {cube.firing!r}, which no table describes")
        time, kelvin = _path(programmes[cube.firing])
        start = _start(cube, solid) or green.value
        fired.append(master_curve.FiredCoupon(time, kelvin, start, end, U_DENSITY))
    if not fired:
        return None, ""
    energy = card.activation_energy
    found = master_curve.from_coupons(fired, energy.value, energy.u)
    return found, f"{len(fired)} fired cubes"


def _curve(run: table.DilatometerRun, read: str, green: float) -> tuple[ndarray, ndarray, ndarray]:
    density = run.values if read == table.DENSITY else green / (1 - run.values) ** 3
    return run.time, run.temperature, np.maximum.accumulate(density)


def _other_curve(evidence: Evidence, green: float, master: MasterCurve) -> list[str]:
    """What a sigmoid master curve would make of the runs."""
    if not evidence.runs:
        return []
    curves = [_curve(each, evidence.read, green) for each in evidence.runs.values()]
    other = master_curve.sigmoid(curves, master.energy)
    word = "LOOK " if master.misfit > POOR and master.misfit > 2 * other.misfit else ""
    return [
        f"{word}a sigmoid master curve (centre {other.centre:.2f}, width {other.width:.3f} in ln work, s/K) "
        f"misses by {other.misfit:.2%}; the plan uses the one-parameter law"
    ]


def _path(stretches: list[table.FiringStretch]) -> tuple[ndarray, ndarray]:
    """Corners of a firing from room temperature and back to it."""
    time, kelvin = [0.0], [ROOM]
    for stretch in stretches:
        time.append(time[-1] + abs(stretch.target - kelvin[-1]) / stretch.rate)
        kelvin.append(stretch.target)
        if stretch.hold:
            time.append(time[-1] + stretch.hold)
            kelvin.append(stretch.target)
    time.append(time[-1] + (kelvin[-1] - ROOM) / COOLING)
    kelvin.append(ROOM)
    return np.array(time), np.array(kelvin)


def _viscosity(
    master: MasterCurve, where: str, card: Sintering, radius: float, source: str
) -> dict[str, CardFigure]:
    """The master curve as the card writes it: viscosity factor, energy, and the temperature they part at."""
    factor = 9 * card.surface_energy.value / (4 * radius * master.speed)
    u = factor * math.expm1(master.log_speed_u)
    note = f"alpha/(r eta) from {where}, misfit {master.misfit:.2%} of density"
    figures = {"viscosity_factor": figure(factor, u, "Pa.s/K", note, source)}
    figures["activation_energy"] = figure(master.energy / 1e3, master.energy_u / 1e3, "kJ/mol", note, source)
    pivot = figure(into(master.pivot, "degC"), 0.0, "degC", note, source)
    return figures | {"viscosity_pivot": pivot}
