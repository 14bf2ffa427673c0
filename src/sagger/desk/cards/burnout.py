"""Runs of a thermobalance evaluated into the burnout figures of a shop's own powder card."""

from __future__ import annotations

import datetime
import hashlib
import math
from pathlib import Path
from typing import NamedTuple

from sagger import cards
from sagger.desk.cards import own_cards
from sagger.desk.cards.own_cards import CardFigure
from sagger.desk.home import card_folders
from sagger.errors import InputError, LawError
from sagger.files import thermobalance
from sagger.goods.good import good
from sagger.physics.burnout import tga
from sagger.physics.burnout.isoconversion import Energy
from sagger.statistics import chance
from sagger.units import into

DRIFT, MISFIT, SLOPE = 0.2, 0.1, 0.15  # beyond which one first-order step is doubtful; common practice
THERMOMETER = 1.0  # K, of a calibrated thermobalance; common practice, no source


class RunLine(NamedTuple):
    """One run of the table."""

    run: str
    rate_K_per_min: float
    lost_percent: float
    peak_degC: float


class EnergyLine(NamedTuple):
    """An activation energy."""

    energy_kJ_per_mol: float
    u_kJ_per_mol: float | None  # None: cannot be told


class LevelLine(NamedTuple):
    """Energies at one share of the binder gone, by three methods."""

    gone_percent: float
    friedman: EnergyLine
    kissinger_akahira_sunose: EnergyLine
    ozawa: EnergyLine


class MasterLine(NamedTuple):
    """The master decomposition curve."""

    energy_kJ_per_mol: float
    u_kJ_per_mol: float | None
    ln_frequency_per_s: float
    order_slope: float
    misfit_percent: float


@good
class BurnoutDocument:
    """What a thermobalance's runs say, for --json."""

    schema: str = "sagger-burnout/1"
    runs: tuple[RunLine, ...]
    kissinger: EnergyLine
    by_share_gone: tuple[LevelLine, ...]
    master_curve: MasterLine
    peak_degC: float
    peak_u_K: float
    peak_rate_K_per_min: float
    card: str | None  # where it was kept


def evaluate(
    path: Path, low: float, high: float, rate: float, material: str = "", keep: bool = False
) -> tuple[BurnoutDocument, list[str]]:
    """Document and lines of an evaluation.

    Parameters
    ----------
    path : Path
        See `thermobalance.read`.
    low, high : float
        Temperatures between which the binder leaves [K].
    rate : float
        Heating rate at which the card states the peak [K/s].
    material : str
        Powder card whose figures are told beside; "" = none.
    keep : bool
        Write the figures on the shop's own card of that powder.

    Raises
    ------
    InputError
        If the table or a name is refused, or three different rates are not there.
    """
    runs = thermobalance.read(path)
    steps = {}
    try:
        for name, run in runs.items():
            steps[name] = tga.step(run, low, high)
        kinetics = tga.evaluate(list(steps.values()))
    except LawError as error:
        where = "" if len(steps) == len(runs) else f"run {list(runs)[len(steps)]}"
        raise InputError(str(error), file=path.name, field=where) from None
    entries = _entries(kinetics, rate, path, len(runs))
    lines = [*_lines(kinetics, steps, rate), *_doubts(kinetics), "for the card, below [sintering]:"]
    before = _before(material)
    for name, entry in entries.items():
        u = f" (u {entry.u})" if entry.u else ""
        lines.append(f"  {name} = {entry.value}{u}{before.get(name, '')}")
    card = _keep(material, entries, path, len(runs)) if keep else None
    lines += [own_cards.fate(card)] if material else []
    return _document(kinetics, steps, rate, card), lines


def _entries(kinetics: tga.BurnoutKinetics, rate: float, path: Path, runs: int) -> dict[str, CardFigure]:
    """Figures as a card writes them."""
    peak, u_peak = tga.peak_at(kinetics.master, rate)
    energy, u = kinetics.master.energy
    source, where = (
        _key(path),
        f"{path.name}, master decomposition curve of {runs} runs, first order; misfit ",
    )
    where += f"{100 * kinetics.misfit:.1f} % of the binder"
    spread = chance.combined((u_peak, THERMOMETER))
    return {
        "debind_energy": CardFigure(f"{energy / 1e3:.1f} kJ/mol", source, where, u=f"{u / 1e3:.2g} kJ/mol"),
        "debind_peak": CardFigure(f"{into(peak, 'degC'):.1f} degC", source, where, u=f"{spread:.2g} K"),
        "debind_peak_rate": CardFigure(f"{into(rate, 'K/min'):g} K/min", source, where),
    }


def _before(material: str) -> dict[str, str]:
    """What the card in use says."""
    if not material:
        return {}
    card = cards.load("powder", material, card_folders()).sintering
    if card is None:
        raise InputError("this powder is not sintered", field="--powder", value=material)
    names = ("debind_energy", "debind_peak", "debind_peak_rate")
    old = {name: getattr(card, name) for name in names}
    return {name: f"; the card says {each.printed} ({each.standing})" for name, each in old.items()}


def _lines(kinetics: tga.BurnoutKinetics, steps: dict[str, tga.LossStep], rate: float) -> list[str]:
    lines = [
        f"{name}: {into(step.heating, 'K/min'):.3g} K/min, {step.lost:.2%} lost, fastest at "
        f"{into(step.peak, 'degC'):.1f} °C"
        for name, step in steps.items()
    ]
    lines.append("activation energy, kJ/mol:")
    lines.append(f"  Kissinger, peaks                    {_said(kinetics.kissinger)}")
    for level, by_rate, by_kas, by_ozawa in kinetics.by_level:
        if round(level * 100) % 20 == 10:
            lines.append(
                f"  {level:.0%} gone: Friedman {_said(by_rate)}, Kissinger-Akahira-Sunose {_said(by_kas)}, "
                f"Ozawa {_said(by_ozawa)}"
            )
    peak, u_peak = tga.peak_at(kinetics.master, rate)
    lines.append(f"  master decomposition curve          {_said(kinetics.master.energy)}")
    lines.append(
        f"first order: ln A {kinetics.master.log_frequency:.2f} (A in 1/s, u "
        f"{kinetics.master.log_frequency_u:.2f}), peak at {into(rate, 'K/min'):g} K/min "
        f"{into(peak, 'degC'):.1f} °C (u {u_peak:.1f} K), misfit "
        f"{kinetics.misfit:.1%} of the binder at most"
    )
    return lines


def _said(energy: Energy) -> str:
    return f"{energy.value / 1e3:.1f} (u {energy.u / 1e3:.1f})"


def _doubts(kinetics: tga.BurnoutKinetics) -> list[str]:
    """What speaks against one first-order step."""
    doubts = []
    if kinetics.drift > DRIFT:
        doubts.append(
            f"LOOK energy drifts by {kinetics.drift:.0%} from 10 to 90 % gone: more than one step is in it"
        )
    if abs(kinetics.master.order_slope - 1) > SLOPE:
        doubts.append(
            f"LOOK slope {kinetics.master.order_slope:.2f} of the master curve, 1 would be first order"
        )
    if kinetics.misfit > MISFIT:
        doubts.append(f"LOOK the first-order law misses a run by {kinetics.misfit:.0%} of the binder")
    if doubts:
        doubts.append(
            "narrow --from and --to to the main step, or keep to slower programmes than are proposed"
        )
    return doubts


def _document(
    kinetics: tga.BurnoutKinetics, steps: dict[str, tga.LossStep], rate: float, card: Path | None
) -> BurnoutDocument:
    peak, u_peak = tga.peak_at(kinetics.master, rate)
    master = kinetics.master
    return BurnoutDocument(
        runs=tuple(
            RunLine(name, into(step.heating, "K/min"), 100 * step.lost, into(step.peak, "degC"))
            for name, step in steps.items()
        ),
        kissinger=_energy(kinetics.kissinger),
        by_share_gone=tuple(
            LevelLine(round(100 * level, 6), *map(_energy, methods)) for level, *methods in kinetics.by_level
        ),
        master_curve=MasterLine(
            *_energy(master.energy), master.log_frequency, master.order_slope, 100 * kinetics.misfit
        ),
        peak_degC=into(peak, "degC"),
        peak_u_K=u_peak,
        peak_rate_K_per_min=into(rate, "K/min"),
        card=str(card) if card else None,
    )


def _energy(energy: Energy) -> EnergyLine:
    u = energy.u / 1e3
    return EnergyLine(energy.value / 1e3, u if math.isfinite(u) else None)


def _keep(material: str, entries: dict[str, CardFigure], table: Path, runs: int) -> Path:
    """Write the shop's own card: the one in use, its burnout figures replaced, the table its source."""
    day = datetime.date.today().isoformat()
    title = f"Thermobalance table {table.name}, {runs} runs, evaluated {day}"
    source = own_cards.OwnSource(key=_key(table), title=title, seen="table")
    return own_cards.put("powder", material, entries, source, within="sintering")


def _key(table: Path) -> str:
    """A source key from what the table holds."""
    return f"tga-{hashlib.blake2b(table.read_bytes(), digest_size=6).hexdigest()}"
