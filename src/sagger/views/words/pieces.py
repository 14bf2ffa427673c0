"""What is known of each piece of a box, for pointing at it and for colouring it."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
from numpy import ndarray

from sagger.goods.cured import Cured, CuredSpot
from sagger.goods.finding import LEVELS, Finding, heaviest_first
from sagger.goods.good import good, plain
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Piece
from sagger.goods.learned import BedMap
from sagger.goods.plain import Table
from sagger.goods.stack import Stack
from sagger.physics.sintering import shrinkage
from sagger.statistics import field
from sagger.units import into
from sagger.views.pictures.palette import LEVEL_COLOURS, letter, spotted, web
from sagger.views.words.noticed import finding

_SQUARE_DEG = 1e-3  # off an axis that counts as along it


@good
class PieceFacts:
    """One piece; what was not computed is None, and left out of the page."""

    label: str
    part: int
    number: int
    low_mm: ndarray
    high_mm: ndarray
    lies: str  # in words
    level: str  # of the worst finding
    factors: list[float]
    factors_u: list[float]
    factors_from: str
    density_percent: float | None = None  # green
    density_u_percent: float | None = None
    deviation_um: float | None = None  # of its longest side, by the density there
    deviation_u_um: float | None = None
    cure_percent: float | None = None


@good
class Colouring:
    """A way to colour the pieces: by tones with a key, or by values of a unit."""

    name: str
    key: list[tuple[str, str]] | None = None  # tone, and what it means
    tones: list[str] | None = None  # of each piece
    unit: str | None = None
    values: list[float] | None = None  # of each piece
    about: float | None = None  # value in the middle of the scale


def document(stack: Stack, bed: BedMap | None, cured: Cured | None) -> Table:
    """The box, its parts and its pieces, as a page takes them.

    Parameters
    ----------
    stack : Stack
        Its layers and their layout.
    bed : BedMap or None
        Map of green density that is in force; without one neither density nor deviation is told.
    cured : Cured or None
        How far each piece is cured, which one last, and which was hottest.
    """
    layout = stack.layout
    ends = [_ends(layout, piece) for piece in layout.pieces]
    middles = np.array([(low + high) / 2 for low, high in ends]).reshape(-1, 3)
    shown = [_piece(layout, piece, end) for piece, end in zip(layout.pieces, ends, strict=True)]
    if bed is not None:
        shown = _with_density(shown, layout, middles, bed)
    if cured is not None and cured.degrees is not None:
        degrees = zip(shown, cured.degrees, strict=True)
        shown = [replace(piece, cure_percent=float(degree) * 100) for piece, degree in degrees]
    box = {
        "name": layout.box.name,
        "number": layout.number,
        "size_mm": [into(length.value, "mm") for length in (layout.box.length_x, layout.box.length_y)],
        "height_mm": layout.height_mm,
        "layer_mm": stack.layer_mm,
        "layers": stack.count,
    }
    return {
        "box": plain(box),
        "parts": [_part(green, index) for index, green in enumerate(layout.greens)],
        "pieces": [_known(piece) for piece in shown],
        "ways": [_known(way) for way in _ways(layout, shown, cured)],
    }


def _part(green: Green, index: int) -> Table:
    noticed = [finding(each) for each in heaviest_first(green.part.findings) if each.level != "ok"]
    return {
        "name": green.part.request.name,
        "letter": letter(index),
        "triangles": len(green.shape.triangles),
        "findings": [*noticed],
    }


def _known(facts: PieceFacts | Colouring) -> Table:
    """The fields that say something."""
    return {
        field.name: plain(value)
        for field in fields(facts)
        if (value := getattr(facts, field.name)) is not None
    }


def stance(placement: ndarray, k: ndarray) -> str:
    """How a piece lies, in words: which of the part's directions points up, and where its x points."""
    turn = placement[:3, :3] / k[:, None]
    up, along = (each / np.linalg.norm(each) for each in (turn[2], turn[:, 0]))
    return f"{_named(up)} of the part points up, its +x along {_named(along)} of the box"


def _piece(layout: Layout, piece: Piece, ends: tuple[ndarray, ndarray]) -> PieceFacts:
    green = layout.greens[piece.part]
    low, high = ends
    own = abs(np.linalg.det(piece.placement[:3, :3])) ** (1 / 3) / float(np.prod(green.factors.k)) ** (1 / 3)
    return PieceFacts(
        label=f"{letter(piece.part)}{piece.number}",
        part=piece.part,
        number=piece.number,
        low_mm=low.round(3),
        high_mm=high.round(3),
        lies=stance(piece.placement, green.factors.k),
        level=_worst(green.part.findings),
        factors=[round(float(k) * own, 5) for k in green.factors.k],
        factors_u=[round(float(u), 5) for u in green.factors.u],
        factors_from=green.factors.origin,
    )


def _worst(findings: tuple[Finding, ...]) -> str:
    return max((each.level for each in findings), key=LEVELS.index, default=LEVELS[0])


def _ends(layout: Layout, piece: Piece) -> tuple[ndarray, ndarray]:
    at = (
        piece.placement[:3, :3] @ layout.greens[piece.part].shape.vertices.T
    )  # rows of one axis: read in order
    return at.min(axis=1) + piece.placement[:3, 3], at.max(axis=1) + piece.placement[:3, 3]


def _with_density(shown: list[PieceFacts], layout: Layout, middles: ndarray, bed: BedMap) -> list[PieceFacts]:
    """Green density where each piece lies, and how far its longest side would come out off for it."""
    of = field.FieldModel(bed.axes, bed.amplitude, bed.reach_mm, bed.noise)
    seen = field.seen(bed.places_mm, bed.density, of, middles)
    wanted = shrinkage.own_oversize(seen.mean, bed.reference)
    rated = []
    for piece, density, u, needs in zip(shown, seen.mean, seen.u, wanted, strict=True):
        green = layout.greens[piece.part]
        longest = float(np.ptp(green.shape.vertices, axis=0).max())
        given = piece.factors[0] / float(green.factors.k[0])
        rated.append(
            replace(
                piece,
                density_percent=float(density) * 100,
                density_u_percent=float(u) * 100,
                deviation_um=(given / float(needs) - 1) * longest * 1e3,
                deviation_u_um=float(u / density) / 3 * longest * 1e3,
            )
        )
    return rated


def _ways(layout: Layout, shown: list[PieceFacts], cured: Cured | None) -> list[Colouring]:
    """Ways to colour the pieces: only those for which something was computed."""
    letters = [(web(i), f"{letter(i)}, {green.part.request.name}") for i, green in enumerate(layout.greens)]
    levels = [(LEVEL_COLOURS[level], level) for level in LEVELS]
    ways = [
        Colouring(name="part", key=letters, tones=[web(piece.part) for piece in layout.pieces]),
        Colouring(name="worst finding", key=levels, tones=[LEVEL_COLOURS[one.level] for one in shown]),
    ]
    densities = [one.density_percent for one in shown if one.density_percent is not None]
    if densities:
        off = [one.deviation_um for one in shown if one.deviation_um is not None]
        ways.append(Colouring(name="green density", unit="%", values=densities))
        ways.append(Colouring(name="predicted deviation", unit="µm", values=off, about=0))
    degrees = [one.cure_percent for one in shown if one.cure_percent is not None]
    if degrees:
        ways.append(Colouring(name="degree of cure", unit="%, where it is least", values=degrees))
    if cured is not None and cured.last and cured.hottest:
        ways.append(_cure(layout, cured.last, cured.hottest))
    return ways


def _cure(layout: Layout, last: CuredSpot, hottest: CuredSpot) -> Colouring:
    """The two pieces that the oven programme was set by."""
    tones = {spotted(hottest): web(4), spotted(last): web(1)}
    names = [f"{letter(piece.part)}{piece.number}" for piece in layout.pieces]
    return Colouring(
        name="cured last and most",
        key=[
            (web(1), f"cured last: {spotted(last)}"),
            (web(4), f"cured most: {spotted(hottest)}"),
            ("#b9bcc2", "in between"),
        ],
        tones=[tones.get(name, "#b9bcc2") for name in names],
    )


def _named(direction: ndarray) -> str:
    """ "+z", or an angle if it lies along no axis."""
    axis = int(np.argmax(np.abs(direction)))
    sign = "+" if direction[axis] > 0 else "−"
    off = np.degrees(np.arccos(np.clip(abs(direction[axis]), 0.0, 1.0)))
    return f"{sign}{'xyz'[axis]}" if off < _SQUARE_DEG else f"{sign}{'xyz'[axis]} (off by {off:.1f}°)"
