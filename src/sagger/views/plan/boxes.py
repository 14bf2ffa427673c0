"""The tables of plan.json about a box and its rooms, from nest to clean green parts."""

from __future__ import annotations

from typing import NamedTuple

from sagger.goods.cured import Cured
from sagger.goods.depowdering import Depowdering
from sagger.goods.dose import Dose
from sagger.goods.head import Head
from sagger.goods.job import Build
from sagger.goods.layout import Layout
from sagger.goods.stack import DropClass, Stack, Tally, Treatment
from sagger.goods.timetable import Drying, Timetable
from sagger.views.plan.fields import rows, table_of
from sagger.views.plan.parts import LENGTHS
from sagger.views.plan.rows import listed, pairs, row, table

IN_BINDER = ("binder", "binder_mass", "solids_mass")
OF_POWDER = ("fed", "in_box", "in_pieces", "loose", "lost", "back")
IN_POWDER = ("packing", *(f"powder_{part}" for part in OF_POWDER))


class PlannedBox(NamedTuple):
    """A box, and the head that prints it."""

    build: Build
    head: Head


class PlannedTreatment(NamedTuple):
    """How one part is drawn."""

    part: int
    treatment: Treatment


class PlannedClass(NamedTuple):
    """Places of one saturation, and that saturation."""

    places: DropClass
    saturation_percent: float  # [-]


def _levels(box: PlannedBox) -> list[tuple[int, float, float, int]]:
    """Number, drop [m3], saturation [-] and drops of each level of the layer files."""
    dose, drops = box.build.dose, box.build.tally.levels.sum(axis=0)
    each = zip(dose.level_drops, dose.level_saturations, drops, strict=True)
    return [(level, drop, full, int(count)) for level, (drop, full, count) in enumerate(each, 1)]


def _treatments(box: PlannedBox) -> list[PlannedTreatment]:
    given, parts = box.build.stack.style.treatments, len(box.build.layout.greens)
    drawn = given if len(given) == parts else given * parts
    return [PlannedTreatment(part, treatment) for part, treatment in enumerate(drawn)]


def _classes(box: PlannedBox) -> list[PlannedClass]:
    return [
        PlannedClass(places, places.share * box.build.dose.saturation) for places in box.build.tally.classes
    ]


def _size(box: PlannedBox) -> tuple[float, float, float]:
    card = box.build.layout.box
    return card.length_x.value, card.length_y.value, card.length_z.value


def _order(box: PlannedBox) -> list[tuple[int, int]]:
    return [(piece.part, piece.number) for piece in box.build.layout.departures]


_LEVEL = pairs(
    "Level",
    "What one level of the layer files means.",
    row("level", int, "as stored in the files; 0 is no drop"),
    row("volume_pL", float, "of its drop", unit="m3"),
    row("saturation_percent", float, "that it prints where it falls on every place", unit="share"),
    row("drops", int, "of all layers"),
)
_CLASS = table(
    "DropClass",
    "Places of the drop lattice that want one saturation, in all layers.",
    *rows(DropClass, "places"),
    row("saturation_percent", float, "binder volume over pore volume", unit="share"),
)
_TREATMENT = table(
    "Treatment",
    "How one part is drawn.",
    row("part", int, "index into `parts`"),
    *rows(Treatment, "treatment"),
)
_LAYERS = table(
    "Layers",
    "The layers of one box.",
    *rows(Stack, "build.stack"),
    row("bits", int, "per drop, as in the files", "build.stack.style.bits"),
    row("first_row", str, "where the first row of a file lies: y low or y high", "head.first_row"),
    *rows(Tally, "build.tally"),
    row("drop_table", listed(_LEVEL), "what each level of the files means", _levels),
    row("classes", listed(_CLASS), "highest saturation first, before missed rows are made good", _classes),
    row("treatments", listed(_TREATMENT), "of all parts of the order", _treatments),
)
_DROPS = table(
    "Drops",
    "Drops of one box, and whether they jet and wet.",
    *rows(Dose, omit=(*IN_BINDER, *IN_POWDER)),
    row("most_in_a_layer", int, "of any size", lambda dose: max(dose.drops_by_layer, default=0)),
)
_BINDER = table("Binder", "Binder of one box.", *rows(Dose, only=IN_BINDER))
_POWDER = table("Powder", "Powder of one box.", *rows(Dose, only=IN_POWDER))
ROOMS = (
    row("layers", _LAYERS, "how they are drawn", lambda box: box),
    row("drops", _DROPS, "how much they hold, and whether they jet and wet", "build.dose"),
    row("binder", _BINDER, "jetted", "build.dose"),
    row("powder", _POWDER, "spread", "build.dose"),
    row("times", table_of(Timetable), "of a layer and of the box", "build.timetable"),
    row("drying", table_of(Drying), "heat, vapour and what stays wet", "build.timetable.drying"),
    row("cure", table_of(Cured), "in the oven", "build.cured"),
    row("depowder", table_of(Depowdering), "how it is unpacked", "build.depowdering"),
)
BOX = table(
    "Box",
    "One box, from nest to clean green parts.",
    *rows(Layout, "build.layout"),
    row("size_mm", LENGTHS, "of the job box", _size, unit="m"),
    row("pieces", int, "in it", lambda box: len(box.build.layout.pieces)),
    row("lift_order", list[list[int]], "part and number of each piece, first to be lifted out first", _order),
    *ROOMS,
)
