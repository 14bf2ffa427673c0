"""Programmes that an order gives in place of the cards', as the goods that a card's become."""

from __future__ import annotations

from sagger import units
from sagger.files.order_form import FurnaceStretch, OvenStretch
from sagger.goods.binder import Stretch
from sagger.goods.figure import Figure
from sagger.goods.powder import Segment

SOURCE = "order"  # cited as such wherever these figures are told


def furnace(rows: list[FurnaceStretch]) -> tuple[Segment, ...]:
    """Stretches of a furnace run; nobody has measured what they give, so they count as assumed."""
    return tuple(
        Segment(
            rate=units.read(row.rate, "heating_rate"),
            target=units.read(row.target, "temperature"),
            hold=units.read(row.hold, "time"),
            atmosphere=row.atmosphere,
            stage=row.stage,
            source=SOURCE,
            where=f"[[furnace_programme]] {place}",
            standing="assumed",
        )
        for place, row in enumerate(rows, 1)
    )


def oven(rows: list[OvenStretch]) -> tuple[Stretch, ...]:
    """Stretches before the oven's set point is held."""
    return tuple(
        Stretch(
            rate=figure(row.rate, "heating_rate", where),
            target=figure(row.target, "temperature", where),
            hold=figure(row.hold, "time", where),
        )
        for row, where in ((row, f"[[oven_programme]] {place}") for place, row in enumerate(rows, 1))
    )


def set_point(text: str | None) -> Figure | None:
    """Set point of the oven; None = the binder card's."""
    return None if text is None else figure(text, "temperature", "[choices] oven")


def figure(text: str, kind: str, where: str) -> Figure:
    """A figure that an order says in place of a card."""
    value = units.read(text, kind)
    return Figure(value=value, u=0.0, printed=text, source=SOURCE, where=where, standing="assumed")
