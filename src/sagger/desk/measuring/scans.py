"""Scans of pieces: laid on the shape that the plan asked for, and kept as readings."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger import files, units
from sagger.desk.home import ledger
from sagger.desk.measuring import drawings
from sagger.desk.measuring.book import placed
from sagger.desk.measuring.readings import refuse_twice
from sagger.errors import InputError
from sagger.geometry.surface.mesh import mapped
from sagger.goods.asked_line import AskedLine
from sagger.goods.good import good
from sagger.goods.layout import Layout, Piece
from sagger.goods.reading import STATES, Instrument, Reading
from sagger.goods.scanned import Scanned
from sagger.goods.shape import Shape
from sagger.ledger import Ledger, bodies, readings
from sagger.stations import measure
from sagger.stations.measure.scan_lines import ScannedLine
from sagger.statistics import chance
from sagger.tick import Tick, silent
from sagger.views.words import readings as view

SHOWN = 12  # numbers that are told
BEYOND = (0.001, 0.999)  # shares of the surface below which a deviation is told


class Extreme(NamedTuple):
    """A place that lies far inside or far outside."""

    deviation_mm: float
    u_mm: float
    at_mm: ndarray


@good
class ScanDocument:
    """What a scan says of its piece."""

    schema: str = "sagger-scan/1"
    entry: int  # of the book
    field: str  # key under which the whole field is kept
    points: int
    scale: ndarray
    scale_u: ndarray
    left_out: float
    deviation_rms_mm: float
    extremes: tuple[Extreme, ...]
    dimensions: int = 0  # readings of lines of the drawing
    not_read: tuple[str, ...] = ()  # numbers of features that the scan does not tell


def scan(
    path: Path, about: dict[str, str], person: str, *, as_filed: bool = False, tick: Tick = silent
) -> tuple[ScanDocument, list[str]]:
    """Lay a scan on the shape of its piece and enter what it says; a document and lines.

    Parameters
    ----------
    about : dict
        box, piece, state, instrument (of kind length), unit of the file.

    Raises
    ------
    InputError
        If the piece is not booked from a job, the scanner is not entered, or the scan is refused.
    """
    book = ledger()
    if about["state"] not in STATES:
        raise InputError(
            "no such state", field="state", value=about["state"], remedy=f"One of {', '.join(STATES)}."
        )
    scanner = readings.instruments(book).get(about["instrument"])
    if scanner is None or scanner.kind != "length":
        what, remedy = "no such scanner is entered", "`sagger readings instrument` enters one of kind length."
        raise InputError(what, field="instrument", value=about["instrument"], remedy=remedy)
    mark = f"file {hashlib.blake2b(path.read_bytes(), digest_size=16).hexdigest()}" if path.is_file() else ""
    if mark:
        refuse_twice(book, mark, path.name)
    layout, piece = placed(book, about["box"], about["piece"])
    asked = _asked(layout, piece, about["state"])
    surface = files.read_part(path, about["unit"], assume="mm").shape
    laid = measure.lay(surface, asked, scanner, as_filed=as_filed, tick=tick)
    field = bodies.put(book, laid)
    taken = _readings(laid, np.ptp(asked.vertices, axis=0), scanner, about)
    lines = _of_drawing((surface, laid), layout, piece, (book, scanner, about), tick)
    taken += lines.readings
    number = readings.add(book, taken, person, f"scan {path.name}; field {field}; {mark}")
    document = dataclasses.replace(
        _document(laid, number, field), dimensions=len(lines.readings), not_read=tuple(lines.left)
    )
    return document, [*_lines(laid, number, taken), *lines.words]


class DrawnReadings(NamedTuple):
    """What a scan says of the drawing of its part."""

    readings: list[Reading]
    left: list[str]  # numbers of features that it does not tell

    @property
    def words(self) -> list[str]:
        """What a person is told of those."""
        if not self.left:
            return []
        more = f" and {len(self.left) - SHOWN} more" if len(self.left) > SHOWN else ""
        return [f"  not read, too little of a face was scanned: {', '.join(self.left[:SHOWN])}{more}"]


def _of_drawing(
    scanned: tuple[Shape, Scanned],
    layout: Layout,
    piece: Piece,
    where: tuple[Ledger, Instrument, dict[str, str]],
    tick: Tick,
) -> DrawnReadings:
    """Sizes, form and place of the drawing, of a finished piece."""
    (surface, laid), (book, scanner, about) = scanned, where
    part = layout.greens[piece.part].part
    known = {line.number: line for line in drawings.lines_of(book)(about["box"], about["piece"])}
    if about["state"] != "sintered" or not part.asked or not known:
        return DrawnReadings([], [])
    linear = piece.placement[:3, :3]
    turned = linear / np.linalg.norm(linear, axis=1, keepdims=True)
    lines = measure.lines_in_scan(surface, laid, part, turned, scanner, tick=tick)
    made = [
        reading
        for line in lines
        if line.number.line in known
        for reading in _line_readings(line, known[line.number.line], scanner, about)
    ]
    return DrawnReadings(made, [str(line.number) for line in lines if line.why])


def _line_readings(
    line: ScannedLine, asked: AskedLine, scanner: Instrument, about: dict[str, str]
) -> Iterator[Reading]:
    scale = units.read(f"1 {asked.unit}", "angle" if asked.unit == "deg" else "length")
    for value in line.values:
        yield Reading(
            kind="dimension",
            state=about["state"],
            box=about["box"],
            piece=about["piece"],
            instrument=about["instrument"],
            value=value * scale,
            u=line.u * scale,
            u_shared=scanner.u_shared_relative * line.lever * scale,
            unit=asked.unit,
            feature=asked.feature(line.number),
            nominal=None if asked.nominal is None else asked.nominal * scale,
        )


def _asked(layout: Layout, piece: Piece, state: str) -> Shape:
    """The shape in machine axes: as drawn before the furnace, as ordered after it."""
    green = layout.greens[piece.part]
    linear = piece.placement[:3, :3]
    if state != "sintered":
        return mapped(green.shape, linear)
    return mapped(green.part.shape, linear / np.linalg.norm(linear, axis=1, keepdims=True))


def _readings(laid: Scanned, size_mm: ndarray, scanner: Instrument, about: dict[str, str]) -> list[Reading]:
    rms = Reading(
        kind="deviation",
        state=about["state"],
        box=about["box"],
        piece=about["piece"],
        instrument=about["instrument"],
        value=float(np.sqrt(np.mean(laid.deviation_mm**2))) * 1e-3,
        u=float(np.sqrt(np.mean(laid.u_mm**2))) * 1e-3,
        u_shared=scanner.u_shared,
        unit="mm",
        feature="root mean square",
    )
    taken = []
    for axis, size, scale, u in zip("xyz", size_mm * 1e-3, laid.scale, laid.scale_u, strict=True):
        length = dataclasses.replace(
            rms,
            kind="length",
            value=float(size * scale),
            u=float(size * u),
            u_shared=chance.combined((scanner.u_shared, scanner.u_shared_relative * size * scale)),
            axis=axis,
            feature="scan",
            nominal=float(size) if about["state"] == "sintered" else None,
        )
        taken.append(length)
    return [*taken, rms]


def _extremes(laid: Scanned) -> list[Extreme]:
    """Deviation, its uncertainty and its place, far inside and far outside."""
    low, high = np.quantile(laid.deviation_mm, BEYOND)
    places = [int(np.abs(laid.deviation_mm - limit).argmin()) for limit in (low, high)]
    return [Extreme(float(laid.deviation_mm[at]), float(laid.u_mm[at]), laid.points_mm[at]) for at in places]


def _document(laid: Scanned, number: int, field: str) -> ScanDocument:
    return ScanDocument(
        entry=number,
        field=field,
        points=len(laid.points_mm),
        scale=laid.scale,
        scale_u=laid.scale_u,
        left_out=laid.left_out,
        deviation_rms_mm=float(np.sqrt(np.mean(laid.deviation_mm**2))),
        extremes=tuple(_extremes(laid)),
    )


def _lines(laid: Scanned, number: int, taken: list[Reading]) -> list[str]:
    lines = [f"entry {number}: scan laid on {len(laid.points_mm)} places, {laid.left_out:.1%} of it on none"]
    lines += [f"  {view.line(reading)}" for reading in taken]
    for value, u, at in _extremes(laid):
        where = ", ".join(f"{each:.1f}" for each in at)
        side = "too little" if value < 0 else "too much"
        lines.append(f"  {abs(value):.3f} ± {u:.3f} mm {side} at {where} mm (machine axes, of the part)")
    return lines
