"""Limits of stated dimensions with the steps of the tables that they name."""

from __future__ import annotations

import dataclasses

from sagger import cards
from sagger.errors import OrderError
from sagger.goods.stated import StatedLimit, StatedLine


def with_table(line: StatedLine) -> StatedLine:
    """The line, its limit with the steps of its class or grade if it has one.

    Raises
    ------
    OrderError
        If the table has no such grade, or the class no figures for what is asked.
    """
    limit = line.limit
    if limit.kind == "general":
        if line.what in ("angle", "radius"):
            what = f"ISO 2768-1 has a table of its own for a{'n' if line.what == 'angle' else ''} {line.what}"
            raise OrderError(
                what, field="limit", value=f"ISO 2768-{limit.grade}", remedy="Write the limits out."
            )
        return _with(line, cards.iso2768(limit.grade))
    if limit.kind == "grade":
        return _with(line, _grade(limit))
    return line


def _grade(limit: StatedLimit) -> tuple[tuple[float, float, float], ...]:
    name, rows = f"IT{limit.grade}", cards.iso286()
    if name not in rows[0].width_mm:
        known = ", ".join(rows[0].width_mm)
        raise OrderError("there is no such grade", field="limit", value=name, remedy=f"Known: {known}.")
    return tuple((row.over_mm, row.up_to_mm, row.width_mm[name]) for row in rows)


def _with(line: StatedLine, steps: tuple[tuple[float, float, float], ...]) -> StatedLine:
    return dataclasses.replace(line, limit=dataclasses.replace(line.limit, steps=steps))
