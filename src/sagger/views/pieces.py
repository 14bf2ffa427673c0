"""What is known of each piece of a box, for pointing at it and for colouring it."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy import ndarray

from sagger.goods.cured import Cured, Spot
from sagger.goods.finding import LEVELS, Finding
from sagger.goods.layout import Layout, Piece
from sagger.goods.learned import BedMap
from sagger.goods.stack import Stack
from sagger.physics import field, shrinkage
from sagger.units import into
from sagger.views.noticed import finding
from sagger.views.palette import LEVEL_COLOURS, letter, spotted, web

_SQUARE_DEG = 1e-3  # off an axis that counts as along it


def document(stack: Stack, bed: BedMap | None, cured: Cured | None) -> dict[str, Any]:
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
        _add_density(shown, layout, middles, bed)
    if cured is not None and cured.degrees is not None:
        for one, degree in zip(shown, cured.degrees, strict=True):
            one["cure_percent"] = float(degree) * 100
    return {
        "box": {
            "name": layout.box.name,
            "number": layout.number,
            "size_mm": [into(length.value, "mm") for length in (layout.box.length_x, layout.box.length_y)],
            "height_mm": layout.height_mm,
            "layer_mm": stack.layer_mm,
            "layers": stack.count,
        },
        "parts": [
            {
                "name": green.part.request.name,
                "letter": letter(index),
                "triangles": len(green.shape.triangles),
                "findings": [finding(each) for each in green.part.findings if each.level != "ok"],
            }
            for index, green in enumerate(layout.greens)
        ],
        "pieces": shown,
        "ways": _ways(layout, shown, cured),
    }


def stance(placement: ndarray, k: ndarray) -> str:
    """How a piece lies, in words: which of the part's directions points up, and where its x points."""
    turn = placement[:3, :3] / k[:, None]
    up, along = (each / np.linalg.norm(each) for each in (turn[2], turn[:, 0]))
    return f"{_named(up)} of the part points up, its +x along {_named(along)} of the box"


def _piece(layout: Layout, piece: Piece, ends: tuple[ndarray, ndarray]) -> dict[str, Any]:
    green = layout.greens[piece.part]
    low, high = ends
    own = abs(np.linalg.det(piece.placement[:3, :3])) ** (1 / 3) / float(np.prod(green.factors.k)) ** (1 / 3)
    return {
        "label": f"{letter(piece.part)}{piece.number}",
        "part": piece.part,
        "number": piece.number,
        "low_mm": low.round(3).tolist(),
        "high_mm": high.round(3).tolist(),
        "lies": stance(piece.placement, green.factors.k),
        "level": _worst(green.part.findings),
        "factors": [round(float(k) * own, 5) for k in green.factors.k],
        "factors_u": [round(float(u), 5) for u in green.factors.u],
        "factors_from": green.factors.origin,
    }


def _worst(findings: tuple[Finding, ...]) -> str:
    return max((each.level for each in findings), key=LEVELS.index, default=LEVELS[0])


def _ends(layout: Layout, piece: Piece) -> tuple[ndarray, ndarray]:
    at = (
        piece.placement[:3, :3] @ layout.greens[piece.part].shape.vertices.T
    )  # rows of one axis: read in order
    return at.min(axis=1) + piece.placement[:3, 3], at.max(axis=1) + piece.placement[:3, 3]


def _add_density(shown: list[dict[str, Any]], layout: Layout, middles: ndarray, bed: BedMap) -> None:
    """Green density where each piece lies, and how far its longest side would come out off for it."""
    of = field.Shape(bed.axes, bed.amplitude, bed.reach_mm, bed.noise)
    seen = field.seen(bed.places_mm, bed.density, of, middles)
    wanted = shrinkage.own_oversize(seen.mean, bed.reference)
    for one, density, u, needs in zip(shown, seen.mean, seen.u, wanted, strict=True):
        green = layout.greens[one["part"]]
        longest = float(np.ptp(green.shape.vertices, axis=0).max())
        given = one["factors"][0] / float(green.factors.k[0])
        one["density_percent"] = float(density) * 100
        one["density_u_percent"] = float(u) * 100
        one["deviation_um"] = (given / float(needs) - 1) * longest * 1e3
        one["deviation_u_um"] = float(u / density) / 3 * longest * 1e3


def _ways(layout: Layout, shown: list[dict[str, Any]], cured: Cured | None) -> list[dict[str, Any]]:
    """Ways to colour the pieces: only those for which something was computed."""
    ways: list[dict[str, Any]] = [
        {
            "name": "part",
            "key": [
                [web(i), f"{letter(i)}, {green.part.request.name}"] for i, green in enumerate(layout.greens)
            ],
            "tones": [web(piece.part) for piece in layout.pieces],
        },
        {
            "name": "worst finding",
            "key": [[LEVEL_COLOURS[level], level] for level in LEVELS],
            "tones": [LEVEL_COLOURS[one["level"]] for one in shown],
        },
    ]
    if shown and "density_percent" in shown[0]:
        ways += [
            {"name": "green density", "unit": "%", "values": [one["density_percent"] for one in shown]},
            {
                "name": "predicted deviation",
                "unit": "µm",
                "values": [one["deviation_um"] for one in shown],
                "about": 0,
            },
        ]
    if shown and "cure_percent" in shown[0]:
        values = [one["cure_percent"] for one in shown]
        ways.append({"name": "degree of cure", "unit": "%, where it is least", "values": values})
    if cured is not None and cured.last and cured.hottest:
        ways.append(_cure(layout, cured.last, cured.hottest))
    return ways


def _cure(layout: Layout, last: Spot, hottest: Spot) -> dict[str, Any]:
    """The two pieces that the oven programme was set by."""
    tones = {spotted(hottest): web(4), spotted(last): web(1)}
    names = [f"{letter(piece.part)}{piece.number}" for piece in layout.pieces]
    return {
        "name": "cured last and most",
        "key": [
            [web(1), f"cured last: {spotted(last)}"],
            [web(4), f"cured most: {spotted(hottest)}"],
            ["#b9bcc2", "in between"],
        ],
        "tones": [tones.get(name, "#b9bcc2") for name in names],
    }


def _named(direction: ndarray) -> str:
    """ "+z", or an angle if it lies along no axis."""
    axis = int(np.argmax(np.abs(direction)))
    sign = "+" if direction[axis] > 0 else "−"
    off = np.degrees(np.arccos(np.clip(abs(direction[axis]), 0.0, 1.0)))
    return f"{sign}{'xyz'[axis]}" if off < _SQUARE_DEG else f"{sign}{'xyz'[axis]} (off by {off:.1f}°)"
