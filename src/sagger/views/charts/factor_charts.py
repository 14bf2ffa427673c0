"""Approved oversize factors over time, axis by axis: the newest filled, those before it hollow."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sagger.goods.record import FactorsApproval
from sagger.statistics import chance
from sagger.views.charts import plot

WIDE, HIGH = 420.0, 250.0
NAMED = 6  # entries named below a chart


def series(rows: Sequence[FactorsApproval]) -> list[tuple[str, list[FactorsApproval]]]:
    """Powder or lot, and its approvals, oldest first; only where there are two or more.

    `rows` come newest first; withdrawn ones are left out.
    """
    by_name: dict[str, list[FactorsApproval]] = {}
    for row in reversed([row for row in rows if not row.withdrawn]):
        name = row.material + (f", lot {row.lot}" if row.lot else "")
        by_name.setdefault(name, []).append(row)
    return [(name, versions) for name, versions in by_name.items() if len(versions) > 1]


def chart(versions: Sequence[FactorsApproval], axis: str) -> str:
    """Factors along one axis with ± one standard uncertainty, evenly spaced in the order of approval; SVG."""
    along = "xyz".index(axis)
    k, u = [row.k[along] for row in versions], [row.u[along] for row in versions]
    ends = [factor + side * doubt for factor, doubt in zip(k, u, strict=True) for side in (-1, 1)]
    last = len(versions) - 1
    frame = plot.Frame((-0.5, last + 0.5), plot.around(ends, 0.12), WIDE, HIGH)
    every = math.ceil(len(versions) / NAMED)
    names = [f"entry {row.id}" if (last - place) % every == 0 else "" for place, row in enumerate(versions)]
    at = list(range(len(versions)))
    body = [
        plot.axes(frame, f"along {axis}", "approval, oldest first", "factor", names),
        plot.group("joined", plot.line(frame, at, k, "#555", 1.0)),
        plot.group("whisker", *(_whisker(frame, *row) for row in zip(at, k, u, strict=True))),
        "".join(_old(frame, x, y) for x, y in zip(at[:-1], k[:-1], strict=True)),
        plot.group("point", plot.dots(frame, [last], [k[last]], "#000", 5.0)),
    ]
    return plot.svg(frame, body)


def words(versions: Sequence[FactorsApproval]) -> list[str]:
    """What the last approval changed along each axis, in the uncertainties of both."""
    before, now = versions[-2], versions[-1]
    lines = []
    for axis, old, old_u, new, new_u in zip("xyz", before.k, before.u, now.k, now.u, strict=True):
        moved, doubt = new - old, chance.combined((new_u, old_u))
        by = f"{moved:+.4f}".replace("-", "\N{MINUS SIGN}")
        wide = f", {abs(moved) / doubt:.1f} standard uncertainties of the difference" if doubt else ""
        lines.append(
            f"{axis}: {old:.4f} ± {old_u:.4f} (entry {before.id}), "
            f"now {new:.4f} ± {new_u:.4f} (entry {now.id}): {by}{wide}"
        )
    return lines


def _whisker(frame: plot.Frame, x: float, k: float, u: float) -> str:
    across, ends = 0.06 * (frame.x[1] - frame.x[0]) / 2, (k - u, k + u)
    caps = (plot.line(frame, (x - across, x + across), (end, end)) for end in ends)
    return plot.line(frame, (x, x), ends) + "".join(caps)


def _old(frame: plot.Frame, x: float, k: float) -> str:
    place = f'cx="{frame.across(x):.1f}" cy="{frame.up(k):.1f}"'
    return plot.group("old", f'<circle {place} r="4.5" fill="#fff" stroke="#000" stroke-width="1.6"/>')
