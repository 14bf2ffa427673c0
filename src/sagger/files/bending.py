"""Rows of a bar broken in three-point bending: force and sizes as they were read, and the strength."""

from __future__ import annotations

from sagger.files.cells import Bad, Cells, RowFacts, amount
from sagger.goods.reading import Reading
from sagger.physics.powder.handling import bend_strength
from sagger.statistics import chance

COLUMNS = {
    "force": "bending: force at break, such as 42.5 N",
    "span": "bending: between the supports, such as 25.4 mm",
    "width": "bending: of the bar",
    "thickness": "bending: of the bar, along the force",
    "u_size": "bending: standard uncertainty of width and thickness, 0.02 mm if not said",
}
SIZES = ("span", "width", "thickness")
U_SIZE = 0.02e-3  # of a calliper on a green bar [m]; common practice, no source
STANDARD = "ISO 3995"


def readings(cells: Cells, u: float, u_shared: float, common: RowFacts) -> list[Reading]:
    """The strength with its uncertainty.

    Parameters
    ----------
    cells : mapping
        The row; span, width, thickness and force each with its unit.
    u, u_shared : float
        Standard uncertainty of the force alone, and of what all forces of the instrument share [N].
    common : RowFacts
        What the reading says apart from its value.

    Raises
    ------
    Bad
        If a size or the force is missing or not above 0.
    """
    force, span, width, thickness = (_above_zero(cells, name) for name in ("force", *SIZES))
    u_size = amount(cells, "u_size", "length")
    given = (force, span, width, thickness)
    doubts = (u, 0.0, *(U_SIZE if u_size is None else u_size,) * 2)
    alone = chance.propagated(lambda at: bend_strength(*at), given, doubts)
    strength = bend_strength(*given)
    return [
        Reading(
            kind="strength",
            feature=STANDARD,
            value=strength,
            u=chance.combined(alone),
            u_shared=strength * u_shared / force,
            unit="MPa",
            **common,
        )
    ]


def _above_zero(cells: Cells, name: str) -> float:
    value = amount(cells, name, "force" if name == "force" else "length")
    if value is None or value <= 0:
        raise Bad(name, "a bar in bending needs this, above 0 and with its unit")
    return value
