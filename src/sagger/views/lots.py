"""Powder lots to look at: what is on the shelf, and one lot in full."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from sagger.goods.figure import Figure
from sagger.goods.finding import Finding
from sagger.goods.lot import Lot, Shelved, SizeCurve
from sagger.physics import flow, grains, reuse
from sagger.units import into
from sagger.views import plot
from sagger.views.wording import remark, share

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
    said = []
    for each, findings in seen:
        lot = each.lot
        size = sizes(lot.curve) if lot.curve is not None else {}
        middle = f"  d50 {size['d50_um']:.1f} µm" if "d50_um" in size else ""
        age = f"  {reuse.mean_age(ages(lot)):.2f} builds behind it"
        said.append(f"{lot.name:<16}{lot.powder:<16}{lot.origin:<10}{each.mass:>12.3f} kg{age}{middle}")
        said += [f"    {remark(finding)}" for finding in findings if finding.level != "ok"]
    return said or ["no powder on the shelf; `sagger lots receive` books a lot in"]


def sheet(each: Shelved, findings: tuple[Finding, ...]) -> list[str]:
    """Everything about one lot."""
    lot = each.lot
    said = [
        f"{lot.name}: {lot.powder}, {lot.origin}"
        + (f" from {', '.join(each.sources)}" if each.sources else "")
    ]
    said.append(f"  on the shelf {each.mass:.3f} kg of {each.made:.3f} kg, entry {each.entry}")
    behind = ", ".join(f"{number}: {share(part)}" for number, part in enumerate(ages(lot)) if part > 0)
    said.append(f"  builds behind it: {behind}; mean {reuse.mean_age(ages(lot)):.3f}")
    if lot.curve is not None:
        size = sizes(lot.curve)
        text = ", ".join(
            f"{name.removesuffix('_um')} {value:.2f} µm" for name, value in size.items() if name != "span"
        )
        said.append(
            f"  size ({lot.curve.method}): {text}" + (f", span {size['span']:.3f}" if "span" in size else "")
        )
    for name, unit in FIGURES.items():
        figure = getattr(lot, name)
        if figure is not None:
            said.append(f"  {name.replace('_', ' ')}: {_figure(figure, unit)}")
    flows = flowing(lot)
    if flows:
        said.append(
            f"  flow: {flows['class']} (Hausner {flows['hausner']:.3f}, Carr {flows['carr_percent']:.1f} %)"
        )
    return said + [f"  {remark(finding)}" for finding in findings]


def document(each: Shelved, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """One lot as plain values, units in the keys."""
    lot = each.lot
    return {
        "name": lot.name,
        "powder": lot.powder,
        "origin": lot.origin,
        "sources": list(each.sources),
        "entry": each.entry,
        "mass_kg": each.mass,
        "made_kg": each.made,
        "builds_behind": [float(part) for part in ages(lot)],
        "mean_builds_behind": reuse.mean_age(ages(lot)),
        "size": sizes(lot.curve) | {"method": lot.curve.method} if lot.curve is not None else None,
        "flow": flowing(lot),
        "figures": {
            name: {
                "value": figure.value,
                "u": figure.u,
                "printed": figure.printed,
                "standing": figure.standing,
            }
            for name in FIGURES
            if (figure := getattr(lot, name)) is not None
        },
        "measured": list(each.measured),
        "findings": [
            {"level": finding.level, "what": finding.what, "text": finding.text, "remedy": finding.remedy}
            for finding in findings
        ],
    }


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
    found: dict[str, float] = {}
    size, finer = curve.size.tolist(), curve.finer.tolist()
    for name, part in (("d10_um", 0.1), ("d50_um", 0.5), ("d90_um", 0.9)):
        if finer[0] <= part <= finer[-1]:
            found[name] = grains.percentile(size, finer, part) * 1e6
    if len(found) == 3:
        found["span"] = grains.span(*(found[name] for name in ("d10_um", "d50_um", "d90_um")))
    parts = np.diff(curve.finer)
    if parts.sum() > 0:
        middle = np.sqrt(curve.size[:-1] * curve.size[1:]).tolist()
        found["d32_um"] = grains.mean_diameter(middle, parts.tolist(), 3, 2) * 1e6
        found["d43_um"] = grains.mean_diameter(middle, parts.tolist(), 4, 3) * 1e6
    return found


def flowing(lot: Lot) -> dict[str, Any] | None:
    """Hausner ratio, Carr index and flow class, if both densities are known."""
    if lot.apparent_density is None or lot.tap_density is None:
        return None
    apparent, tapped = lot.apparent_density.value, lot.tap_density.value
    return {
        "hausner": flow.hausner(apparent, tapped),
        "carr_percent": 100 * flow.compressibility(apparent, tapped),
        "class": flow.flow_class(apparent, tapped),
    }


def _figure(figure: Figure, unit: str) -> str:
    return f"{into(figure.value, unit):.4g} ± {into(figure.u, unit):.2g} {unit} ({figure.standing})"
