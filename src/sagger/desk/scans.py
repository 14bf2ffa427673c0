"""Scans of pieces: laid on the shape that the plan asked for, and kept as readings."""

from __future__ import annotations

import dataclasses
import hashlib
from pathlib import Path
from typing import Any

import numpy as np
from numpy import ndarray

from sagger import files
from sagger.desk.book import placed
from sagger.desk.home import ledger
from sagger.errors import InputError
from sagger.geometry.mesh import mapped
from sagger.goods.layout import Layout, Piece
from sagger.goods.reading import STATES, Instrument, Reading
from sagger.goods.scanned import Scanned
from sagger.goods.shape import Shape
from sagger.ledger import bodies, readings
from sagger.stations import measure
from sagger.tick import Tick, silent
from sagger.views import readings as view

BEYOND = (0.001, 0.999)  # shares of the surface below which a deviation is told


def scan(
    path: Path, said: dict[str, str], person: str, *, as_filed: bool = False, tick: Tick = silent
) -> Any:
    """Lay a scan on the shape of its piece and enter what it says; a document and lines.

    Parameters
    ----------
    said : dict
        box, piece, state, instrument (of kind length), unit of the file.

    Raises
    ------
    InputError
        If the piece is not booked from a job, the scanner is not entered, or the scan is refused.
    """
    book = ledger()
    if said["state"] not in STATES:
        raise InputError(
            "no such state", field="state", value=said["state"], remedy=f"One of {', '.join(STATES)}."
        )
    scanner = readings.instruments(book).get(said["instrument"])
    if scanner is None or scanner.kind != "length":
        what, remedy = "no such scanner is entered", "`sagger readings instrument` enters one of kind length."
        raise InputError(what, field="instrument", value=said["instrument"], remedy=remedy)
    asked = _asked(*placed(book, said["box"], said["piece"]), said["state"])
    surface = files.read_part(path, said["unit"], assume="mm").shape
    found = measure.lay(surface, asked, scanner, as_filed=as_filed, tick=tick)
    kept = bodies.put(book, found)
    taken = _readings(found, np.ptp(asked.vertices, axis=0), scanner, said)
    name = hashlib.blake2b(path.read_bytes(), digest_size=16).hexdigest()
    number = readings.add(book, taken, person, f"scan {path.name}; field {kept}; file {name}")
    return _document(found, number, kept), _lines(found, number, taken)


def _asked(layout: Layout, piece: Piece, state: str) -> Shape:
    """The shape in machine axes: as drawn before the furnace, as ordered after it."""
    green = layout.greens[piece.part]
    linear = piece.placement[:3, :3]
    if state != "sintered":
        return mapped(green.shape, linear)
    return mapped(green.part.shape, linear / np.linalg.norm(linear, axis=1, keepdims=True))


def _readings(found: Scanned, size_mm: ndarray, scanner: Instrument, said: dict[str, str]) -> list[Reading]:
    common: dict[str, Any] = {name: said[name] for name in ("box", "piece", "state", "instrument")}
    taken = []
    for axis, size, scale, u in zip("xyz", size_mm * 1e-3, found.scale, found.scale_u, strict=True):
        length = Reading(
            kind="length",
            value=float(size * scale),
            u=float(size * u),
            u_shared=float(np.hypot(scanner.u_shared, scanner.u_shared_relative * size * scale)),
            unit="mm",
            axis=axis,
            feature="scan",
            nominal=float(size) if said["state"] == "sintered" else None,
            **common,
        )
        taken.append(length)
    spread = float(np.sqrt(np.mean(found.deviation_mm**2))) * 1e-3
    u = float(np.sqrt(np.mean(found.u_mm**2))) * 1e-3
    rest = Reading(kind="deviation", value=spread, u=u, unit="mm", feature="root mean square", **common)
    return [*taken, dataclasses.replace(rest, u_shared=scanner.u_shared)]


def _extremes(found: Scanned) -> list[tuple[float, float, ndarray]]:
    """Deviation, its uncertainty and its place, far inside and far outside."""
    low, high = np.quantile(found.deviation_mm, BEYOND)
    places = [int(np.abs(found.deviation_mm - limit).argmin()) for limit in (low, high)]
    return [(float(found.deviation_mm[at]), float(found.u_mm[at]), found.points_mm[at]) for at in places]


def _document(found: Scanned, number: int, kept: str) -> dict[str, Any]:
    return {
        "schema": "sagger-scan/1",
        "entry": number,
        "field": kept,
        "points": len(found.points_mm),
        "scale": found.scale.tolist(),
        "scale_u": found.scale_u.tolist(),
        "left_out": found.left_out,
        "deviation_rms_mm": float(np.sqrt(np.mean(found.deviation_mm**2))),
        "extremes": [
            {"deviation_mm": value, "u_mm": u, "at_mm": at.tolist()} for value, u, at in _extremes(found)
        ],
    }


def _lines(found: Scanned, number: int, taken: list[Reading]) -> list[str]:
    lines = [
        f"entry {number}: scan laid on {len(found.points_mm)} places, {found.left_out:.1%} of it on none"
    ]
    lines += [f"  {view.line(reading)}" for reading in taken]
    for value, u, at in _extremes(found):
        where = ", ".join(f"{each:.1f}" for each in at)
        side = "too little" if value < 0 else "too much"
        lines.append(f"  {abs(value):.3f} ± {u:.3f} mm {side} at {where} mm (machine axes, of the part)")
    return lines
