"""Runs of a thermobalance evaluated into the burnout figures of a shop's own powder card."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

from sagger import cards
from sagger.cards import own
from sagger.desk.export import write_whole
from sagger.desk.home import card_folders
from sagger.errors import InputError, LawError
from sagger.files import thermobalance
from sagger.physics import tga
from sagger.physics.isoconversion import Energy
from sagger.units import into

DRIFT, MISFIT, SLOPE = 0.2, 0.1, 0.15  # beyond which one first-order step is doubtful; common practice
THERMOMETER = 1.0  # K, of a calibrated thermobalance; common practice, no source
NAME = re.compile(r"[a-z0-9][a-z0-9-]*\Z")


def evaluate(
    path: Path, low: float, high: float, rate: float, powder: str = "", card: str = ""
) -> tuple[dict[str, Any], list[str]]:
    """Document and lines of an evaluation; with `powder` and `card` the own card is written too.

    Parameters
    ----------
    path : Path
        See `thermobalance.read`.
    low, high : float
        Temperatures between which the binder leaves [K].
    rate : float
        Heating rate at which the card states the peak [K/s].
    powder, card : str
        Powder card to start from, and name of the own card to write.

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
    entries = _entries(found, rate, path.name, len(runs))
    document = _document(found, steps, rate)
    lines = [*_lines(found, steps, rate), *_doubts(found)]
    if card:
        lines.append(f"written: {_write(powder, card, entries, path.name, found, len(runs))}")
    else:
        lines += ["", "For your own card (--powder CARD --card NAME writes it):", ""]
        lines += "\n".join(own.entry_text(*each) for each in entries.items()).splitlines()
    return document, lines


def _entries(found: tga.Kinetics, rate: float, table: str, runs: int) -> dict[str, own.Entry]:
    peak, u_peak = tga.peak_at(found.master, rate)
    energy, u = found.master.energy
    where = f"{table}, master decomposition curve of {runs} runs, first order; misfit {found.misfit:.1%}"
    key, each = _key(table), "measured"
    spread = math.hypot(u_peak, THERMOMETER)
    return {
        "sintering.debind_energy": own.Entry(
            f"{energy / 1e3:.1f} kJ/mol", f"{u / 1e3:.2g} kJ/mol", key, where, each
        ),
        "sintering.debind_peak": own.Entry(
            f"{into(peak, 'degC'):.1f} degC", f"{spread:.2g} K", key, where, each
        ),
        "sintering.debind_peak_rate": own.Entry(
            f"{into(rate, 'K/min'):g} K/min", "", key, "rate at which debind_peak is meant", each
        ),
    }


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


def _write(
    powder: str, card: str, entries: dict[str, own.Entry], table: str, found: tga.Kinetics, runs: int
) -> Path:
    """The own card, and its source beside it; a card that is there is not written over."""
    if not NAME.match(card):
        what = "a card's name has small letters, digits and hyphens"
        raise InputError(what, field="--card", value=card)
    folder = card_folders()[0]
    path = folder / "powders" / f"{card}.toml"
    if path.exists():
        raise InputError("there is a card of this name", file=str(path), remedy="Give another with --card.")
    cards.load("powder", powder, card_folders())  # refuses what is no card
    roots = (*card_folders(), cards.read.SHIPPED)
    start = next(
        root / "powders" / f"{powder}.toml"
        for root in roots
        if (root / "powders" / f"{powder}.toml").is_file()
    )
    text = own.replaced(start.read_text("utf-8"), entries)
    sources, key = folder / "sources.toml", _key(table)
    known = sources.read_text("utf-8") if sources.is_file() else ""
    if f"[{key}]" not in known:
        entry = own.source_text(key, f"Own thermobalance table {table}, {runs} runs", "measured here")
        write_whole(sources, (known.rstrip("\n") + "\n\n" * bool(known) + entry).encode())
    write_whole(path, text.encode())
    cards.load("powder", card, card_folders())
    return path


def _key(table: str) -> str:
    """A source key from the table's file name."""
    return "tga-" + re.sub(r"[^a-z0-9]+", "-", Path(table).stem.lower()).strip("-")
