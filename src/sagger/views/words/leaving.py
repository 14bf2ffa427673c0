"""How a box is emptied, in words."""

from __future__ import annotations

from sagger.goods.layout import Layout
from sagger.views.pictures.palette import letter

_NAMED = 4  # pieces named on paper; plan.json has all


def leaving(layout: Layout) -> str:
    """One line: which way pieces leave, and what must be done first; "A3 +x" is piece 3 of part A along x."""
    aside = [one for one in layout.departures if one.way != (0, 0, 1)]
    stay = len(layout.pieces) - len(layout.departures)
    if stay:
        return f"{stay} of {len(layout.pieces)} cannot leave: not to be printed"
    if not aside:
        return "piece by piece straight up, order in plan.json"
    names = ", ".join(f"{letter(one.part)}{one.number} {direction(one.way)}" for one in aside[:_NAMED])
    more = ", …" if len(aside) > _NAMED else ""
    return (
        f"up, in the order of plan.json; {len(aside)} aside, the cake free of the walls first: {names}{more}"
    )


def direction(way: tuple[int, int, int]) -> str:
    """ "up", "+x", "-x +y up", …"""
    level = [("−" if step < 0 else "+") + axis for step, axis in zip(way, "xy", strict=False) if step]
    upright = {1: ["up"], 0: [], -1: ["down"]}[way[2]]
    return " ".join([*level, *upright])
