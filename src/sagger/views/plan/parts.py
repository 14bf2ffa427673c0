"""The tables of plan.json about parts and their pieces."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.layout import Piece
from sagger.goods.order import Request
from sagger.goods.part import Part
from sagger.goods.sag import Sag
from sagger.views.pictures.palette import letter
from sagger.views.plan.fields import rows, table_of
from sagger.views.plan.rows import row, table

LENGTHS = tuple[float, float, float]
MATRIX_ROW = tuple[float, float, float, float]


class PlannedPart(NamedTuple):
    """A part and its place in the order; with its green if it was compensated."""

    part: Part
    place: int  # among the parts of the order, from 0
    green: Green | None = None


class PlannedPiece(NamedTuple):
    """A piece, the name of its part, and the number of its box."""

    piece: Piece
    name: str
    box: int


class PlacedFinding(NamedTuple):
    """A finding with the step, box and part it belongs to."""

    finding: Finding
    station: str
    box: int | None = None
    part: int | None = None


def green_extent(green: Green, turn: int = 0) -> ndarray:
    """Overall green size along the part's own axes when printed in orientation `turn`, float64 (3,) [mm]."""
    along_machine = np.ptp(green.shape.vertices @ green.maps[turn].T, axis=0)
    machine_axis = np.abs(green.part.turns[turn]).argmax(axis=0)  # that a part axis lies along
    return np.asarray(along_machine[machine_axis])


PART = table(
    "Part",
    "One part of the order, at nominal size unless the key says green.",
    row("index", int, "from 0; other places name parts by it", "place"),
    row("letter", str, "how pictures and traveller name the part", lambda planned: letter(planned.place)),
    *rows(Request, "part.request"),
    *rows(Part, "part"),
    row(
        "green_extent_mm",
        LENGTHS,
        "the same at green size, unturned; null if not compensated",
        lambda planned: green_extent(planned.green) if planned.green else None,
        optional=True,
    ),
    row("triangles", int, "of its mesh", lambda planned: len(planned.part.shape.triangles)),
    row(
        "sag",
        table_of(Sag),
        "null where oversize factors alone were chosen",
        lambda planned: planned.green.sag if planned.green else None,
        optional=True,
    ),
)
PIECE = table(
    "Piece",
    "One copy of a part, in its place.",
    *rows(Piece, "piece"),
    row("name", str, "of the part"),
    row("box", int, "box number"),
    row(
        "placement",
        tuple[MATRIX_ROW, MATRIX_ROW, MATRIX_ROW, MATRIX_ROW],
        "column-vector matrix: nominal part [mm] to box [mm]; oversize factors included",
        "piece.placement",
    )._replace(rounded=float),
)
PLACED_FINDING = table(
    "PlacedFinding",
    "A finding with the step, box and part it belongs to.",
    *rows(Finding, "finding"),
    row(
        "station",
        str,
        "step that noticed it: intake, bed, nest, layers, dosing, cycle, cure, depowder, sinter, mould, cost",
    ),
    row("box", int, "box number; null if it belongs to none", optional=True),
    row("part", int, "index into `parts`; null if it belongs to none", optional=True),
)
