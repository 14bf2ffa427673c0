"""Runs of a thermobalance evaluated into the burnout figures of a shop's own powder card."""

from __future__ import annotations

import datetime
import hashlib
import math
from pathlib import Path
from typing import Any

from sagger import cards
from sagger.desk import own_cards
from sagger.desk.home import card_folders
from sagger.errors import InputError, LawError
from sagger.files import thermobalance
from sagger.physics import tga
from sagger.physics.isoconversion import Energy
from sagger.units import into

DRIFT, MISFIT, SLOPE = 0.2, 0.1, 0.15  # beyond which one first-order step is doubtful; common practice
THERMOMETER = 1.0  # K, of a calibrated thermobalance; common practice, no source


def evaluate(
    path: Path, low: float, high: float, rate: float, material: str = "", keep: bool = False
) -> tuple[dict[str, Any], list[str]]:
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
        found = tga.evaluate(list(steps.values()))
    except LawError as error:
        where = "" if len(steps) == len(runs) else f"run {list(runs)[len(steps)]}"
        raise InputError(str(error), file=path.name, field=where) from None
    entries = _entries(found, rate, path, len(runs))
    lines = [*_lines(found, steps, rate), *_doubts(found), "for the card, below [sintering]:"]
    before = _before(material)
    for name, entry in entries.items():
        u = f" (u {entry['u']})" if "u" in entry else ""
        lines.append(f"  {name} = {entry['value']}{u}{before.get(name, '')}")
    kept = _keep(material, entries, path, len(runs)) if keep else None
    if kept:
        lines.append(f"kept on {kept}")
    elif material:
        lines.append("not kept; --keep writes it on the shop's own powder card")
    return _document(found, steps, rate) | {"card": str(kept) if kept else None}, lines


def _entries(found: tga.Kinetics, rate: float, path: Path, runs: int) -> dict[str, dict[str, str]]:
    """Figures as a card writes them."""
    peak, u_peak = tga.peak_at(found.master, rate)
    energy, u = found.master.energy
    common = {
        "source": _key(path),
        "where": f"{path.name}, master decomposition curve of {runs} runs, first order; misfit "
        f"{100 * found.misfit:.1f} % of the binder",
        "standing": "measured",
    }
    spread = math.hypot(u_peak, THERMOMETER)
    return {
        "debind_energy": {"value": f"{energy / 1e3:.1f} kJ/mol", "u": f"{u / 1e3:.2g} kJ/mol"} | common,
        "debind_peak": {"value": f"{into(peak, 'degC'):.1f} degC", "u": f"{spread:.2g} K"} | common,
        "debind_peak_rate": {"value": f"{into(rate, 'K/min'):g} K/min"} | common,
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


def _lines(found: tga.Kinetics, steps: dict[str, tga.Step], rate: float) -> list[str]:
    lines = [
        f"{name}: {into(each.heating, 'K/min'):.3g} K/min, {each.lost:.2%} lost, fastest at "
        f"{into(each.peak, 'degC'):.1f} °C"
        for name, each in steps.items()
    ]
    lines.append("activation energy, kJ/mol:")
    lines.append(f"  Kissinger, peaks                    {_said(found.kissinger)}")
    for level, by_rate, by_kas, by_ozawa in found.by_level:
        if round(level * 100) % 20 == 10:
            lines.append(
                f"  {level:.0%} gone: Friedman {_said(by_rate)}, Kissinger-Akahira-Sunose {_said(by_kas)}, "
                f"Ozawa {_said(by_ozawa)}"
            )
    peak, u_peak = tga.peak_at(found.master, rate)
    lines.append(f"  master decomposition curve          {_said(found.master.energy)}")
    lines.append(
        f"first order: ln A {found.master.log_frequency:.2f} (A in 1/s, u "
        f"{found.master.log_frequency_u:.2f}), peak at {into(rate, 'K/min'):g} K/min "
        f"{into(peak, 'degC'):.1f} °C (u {u_peak:.1f} K), misfit "
        f"{found.misfit:.1%} of the binder at most"
    )
    return lines


def _said(energy: Energy) -> str:
    return f"{energy.value / 1e3:.1f} (u {energy.u / 1e3:.1f})"


def _doubts(found: tga.Kinetics) -> list[str]:
    """What speaks against one first-order step."""
    doubts = []
    if found.drift > DRIFT:
        doubts.append(
            f"LOOK energy drifts by {found.drift:.0%} from 10 to 90 % gone: more than one step is in it"
        )
    if abs(found.master.order_slope - 1) > SLOPE:
        doubts.append(
            f"LOOK slope {found.master.order_slope:.2f} of the master curve, 1 would be first order"
        )
    if found.misfit > MISFIT:
        doubts.append(f"LOOK the first-order law misses a run by {found.misfit:.0%} of the binder")
    if doubts:
        doubts.append(
            "narrow --from and --to to the main step, or keep to slower programmes than are proposed"
        )
    return doubts


def _document(found: tga.Kinetics, steps: dict[str, tga.Step], rate: float) -> dict[str, Any]:
    peak, u_peak = tga.peak_at(found.master, rate)
    return {
        "schema": "sagger-burnout/1",
        "runs": [
            {
                "run": name,
                "rate_K_per_min": into(each.heating, "K/min"),
                "lost_percent": 100 * each.lost,
                "peak_degC": into(each.peak, "degC"),
            }
            for name, each in steps.items()
        ],
        "kissinger": _energy(found.kissinger),
        "by_share_gone": [
            {
                "gone_percent": round(100 * level, 6),
                "friedman": _energy(by_rate),
                "kissinger_akahira_sunose": _energy(by_kas),
                "ozawa": _energy(by_ozawa),
            }
            for level, by_rate, by_kas, by_ozawa in found.by_level
        ],
        "master_curve": _energy(found.master.energy)
        | {
            "ln_frequency_per_s": found.master.log_frequency,
            "order_slope": found.master.order_slope,
            "misfit_percent": 100 * found.misfit,
        },
        "peak_degC": into(peak, "degC"),
        "peak_u_K": u_peak,
        "peak_rate_K_per_min": into(rate, "K/min"),
    }


def _energy(energy: Energy) -> dict[str, float | None]:
    u = energy.u / 1e3
    return {"energy_kJ_per_mol": energy.value / 1e3, "u_kJ_per_mol": u if math.isfinite(u) else None}


def _keep(material: str, entries: dict[str, dict[str, str]], table: Path, runs: int) -> Path:
    """Write the shop's own card: the one in use, its burnout figures replaced, the table its source."""
    day = datetime.date.today().isoformat()
    title = f"Thermobalance table {table.name}, {runs} runs, evaluated {day}"
    source = own_cards.Own(key=_key(table), title=title, seen="table")
    return own_cards.put("powder", material, entries, source, within="sintering")


def _key(table: Path) -> str:
    """A source key from what the table holds."""
    return f"tga-{hashlib.blake2b(table.read_bytes(), digest_size=6).hexdigest()}"
