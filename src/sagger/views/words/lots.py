"""Powder lots to look at: what is on the shelf, and one lot in full."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from sagger.goods.figure import Figure
from sagger.goods.finding import Finding
from sagger.goods.lot import Lot, Shelved, SizeCurve
from sagger.physics.powder import flow, grains, reuse
from sagger.units import into
from sagger.views.charts import plot
from sagger.views.wording import remark, share
from sagger.views.words.noticed import FindingLine, line

FIGURES = {
    "apparent_density": "g/cm3",
    "tap_density": "g/cm3",
    "solid_density": "g/cm3",
    "green_density": "%",
    "oxygen": "%",
    "price": "cur/kg",
}
Seen = tuple[Shelved, tuple[Finding, ...]]


def lines(seen: Iterable[Seen]) -> list[str]:
    """A line for each lot, and below it what a person should look at."""
    text = []
    for shelved, findings in seen:
        lot = shelved.lot
        size = sizes(lot.curve) if lot.curve is not None else {}
        middle = f"  d50 {size['d50_um']:.1f} µm" if "d50_um" in size else ""
        age = f"  {reuse.mean_age(ages(lot)):.2f} builds behind it"
        text.append(f"{lot.name:<16}{lot.powder:<16}{lot.origin:<10}{shelved.mass:>12.3f} kg{age}{middle}")
        text += [f"    {remark(finding)}" for finding in findings if finding.level != "ok"]
    return text or ["no powder on the shelf; `sagger lots receive` books a lot in"]


def sheet(shelved: Shelved, findings: tuple[Finding, ...]) -> list[str]:
    """Everything about one lot."""
    lot = shelved.lot
    rows = [
        f"{lot.name}: {lot.powder}, {lot.origin}"
        + (f" from {', '.join(shelved.sources)}" if shelved.sources else "")
    ]
    rows.append(f"  on the shelf {shelved.mass:.3f} kg of {shelved.made:.3f} kg, entry {shelved.entry}")
    behind = ", ".join(f"{number}: {share(part)}" for number, part in enumerate(ages(lot)) if part > 0)
    rows.append(f"  builds behind it: {behind}; mean {reuse.mean_age(ages(lot)):.3f}")
    if lot.curve is not None:
        size = sizes(lot.curve)
        percentiles = ", ".join(
            f"{name.removesuffix('_um')} {value:.2f} µm" for name, value in size.items() if name != "span"
        )
        span = f", span {size['span']:.3f}" if "span" in size else ""
        rows.append(f"  size ({lot.curve.method}): {percentiles}{span}")
    for name, unit in FIGURES.items():
        figure = getattr(lot, name)
        if figure is not None:
            rows.append(f"  {name.replace('_', ' ')}: {_figure(figure, unit)}")
    flows = flowing(lot)
    if flows:
        rows.append(f"  flow: {flows.name} (Hausner {flows.hausner:.3f}, Carr {flows.carr_percent:.1f} %)")
    return rows + [f"  {remark(finding)}" for finding in findings]


class LotFigure(NamedTuple):
    """A figure that was measured on a lot, or follows from its sources [SI]."""

    value: float
    u: float
    printed: str
    standing: str


class LotDocument(NamedTuple):
    """One lot, units in the names."""

    name: str
    powder: str
    origin: str
    sources: tuple[str, ...]
    entry: int
    mass_kg: float
    made_kg: float
    builds_behind: list[float]
    mean_builds_behind: float
    size: Mapping[str, object] | None
    flow: Mapping[str, object] | None
    figures: Mapping[str, LotFigure]
    measured: tuple[str, ...]
    findings: tuple[FindingLine, ...]


def document(shelved: Shelved, findings: tuple[Finding, ...]) -> LotDocument:
    """One lot for other programs."""
    lot = shelved.lot
    known = {name: figure for name in FIGURES if (figure := getattr(lot, name)) is not None}
    flows = flowing(lot)
    return LotDocument(
        name=lot.name,
        powder=lot.powder,
        origin=lot.origin,
        sources=shelved.sources,
        entry=shelved.entry,
        mass_kg=shelved.mass,
        made_kg=shelved.made,
        builds_behind=ages(lot),
        mean_builds_behind=reuse.mean_age(ages(lot)),
        size=sizes(lot.curve) | {"method": lot.curve.method} if lot.curve is not None else None,
        flow={"hausner": flows.hausner, "carr_percent": flows.carr_percent, "class": flows.name}
        if flows
        else None,
        figures={name: LotFigure(of.value, of.u, of.printed, of.standing) for name, of in known.items()},
        measured=shelved.measured,
        findings=tuple(map(line, findings)),
    )


def size_picture(curve: SizeCurve) -> str:
    """The size curve as an SVG picture: percent finer over size, with d10, d50 and d90 as lines."""
    # Between two measured sizes the share rises with the logarithm of size, as percentiles take it.
    known = np.log(curve.size * 1e6)
    at = np.linspace(known[0], known[-1], 200)
    across, up = np.exp(at), 100 * np.interp(at, known, curve.finer)
    frame = plot.Frame((0.0, float(across[-1]) * 1.05), (0.0, 100.0), 720, 360)
    body = [plot.axes(frame, f"size curve, {curve.method}", "size, µm", "finer, %")]
    body.append(plot.line(frame, across.tolist(), up.tolist(), "#1a4f9c", 2.4))
    told = sizes(curve)
    for name in ("d10", "d50", "d90"):
        value = told.get(f"{name}_um")
        if value is not None:
            body.append(plot.line(frame, (value, value), (0.0, 100.0), "#777", 1.0))
            body.append(plot.text(frame.across(value) + 4, frame.up(4.0), f"{name} {value:.1f}", "start"))
    return plot.svg(frame, body)


def ages(lot: Lot) -> list[float]:
    """Mass share by builds behind it; virgin if nothing is known."""
    return [1.0] if lot.exposures is None else [float(part) for part in lot.exposures]


def sizes(curve: SizeCurve) -> dict[str, float]:
    """Percentiles and mean diameters in µm, span; what lies beyond the curve's ends is left out."""
    known: dict[str, float] = {}
    size, finer = curve.size.tolist(), curve.finer.tolist()
    for name, part in (("d10_um", 0.1), ("d50_um", 0.5), ("d90_um", 0.9)):
        if finer[0] <= part <= finer[-1]:
            known[name] = grains.percentile(size, finer, part) * 1e6
    if len(known) == 3:
        known["span"] = grains.span(*(known[name] for name in ("d10_um", "d50_um", "d90_um")))
    parts = np.diff(curve.finer)
    if parts.sum() > 0:
        middle = np.sqrt(curve.size[:-1] * curve.size[1:]).tolist()
        known["d32_um"] = grains.mean_diameter(middle, parts.tolist(), 3, 2) * 1e6
        known["d43_um"] = grains.mean_diameter(middle, parts.tolist(), 4, 3) * 1e6
    return known


class PowderFlow(NamedTuple):
    """How a powder flows, by its poured and tapped densities."""

    hausner: float
    carr_percent: float
    name: str  # class


def flowing(lot: Lot) -> PowderFlow | None:
    """Hausner ratio, Carr index and flow class, if both densities are known."""
    if lot.apparent_density is None or lot.tap_density is None:
        return None
    apparent, tapped = lot.apparent_density.value, lot.tap_density.value
    return PowderFlow(
        flow.hausner(apparent, tapped),
        100 * flow.compressibility(apparent, tapped),
        flow.flow_class(apparent, tapped),
    )


def _figure(figure: Figure, unit: str) -> str:
    return f"{into(figure.value, unit):.4g} ± {into(figure.u, unit):.2g} {unit} ({figure.standing})"
