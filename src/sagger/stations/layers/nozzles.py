"""Rows that no living nozzle comes to: their drops fall in the rows beside, as far as there is room."""

from __future__ import annotations

import dataclasses
import hashlib

import numpy as np
from numpy import ndarray

from sagger.geometry import raster
from sagger.stations.layers.band import Field, Sheet

Rows = dict[int, ndarray]  # levels uint8 (columns,) by row


def made_good(drops: raster.Runs, rows: ndarray) -> tuple[raster.Runs, int]:
    """Layer in which the drops of missed rows fall in the rows beside them, and how many found no place.

    Drops go by turns to the row below and the row above, or to the other one if a drop falls there already.
    In a solid region both are full: the binder that is missing is counted, not hidden.

    Parameters
    ----------
    drops : Runs
        The layer.
    rows : int (n,)
        Rows that no nozzle prints: `numpy.flatnonzero(~served(…).any(axis=1))`.
    """
    near = _near(rows, drops.rows)
    levels = {row: _levels_of_runs(drops, row) for row in near}
    lost = _shared_out(levels, set(rows.tolist()), 1)
    return _spliced(drops, levels), lost


def mended(sheet: Sheet, missed: tuple[int, ...]) -> tuple[Sheet, int]:
    """A sheet with its missed rows made good, and how many of the largest drops found no place.

    Parameters
    ----------
    sheet : Sheet
        As drawn, of one bit or grey; a grey row takes as much as its levels have room for.
    missed : tuple of int
        Rows that no nozzle prints.
    """
    if not missed:
        return sheet, 0
    rows = np.array(missed)
    if sheet.packed is None:
        runs, lost = made_good(sheet.runs, rows)
        fields = tuple(Field(runs=runs, share=field.share) for field in sheet.fields)
        name = raster.fingerprint(runs)
        return dataclasses.replace(
            sheet, runs=runs, fields=fields, digest=name, drops=raster.count(runs)
        ), lost
    packed, owed = _packed_made_good(sheet, rows)
    top = 2**sheet.bits - 1
    lost = round(owed / top)
    name = hashlib.sha256(f"{sheet.digest} {missed}".encode()).hexdigest()[:32]
    return dataclasses.replace(sheet, packed=packed, drops=sheet.drops - lost, digest=name), lost


def _packed_made_good(sheet: Sheet, rows: ndarray) -> tuple[ndarray, int]:
    """Packed image, and the level steps that found no place."""
    assert sheet.packed is not None
    columns, bits = sheet.runs.columns, sheet.bits
    worth = (1 << np.arange(bits)[::-1]).astype(np.uint8)
    packed = sheet.packed.copy()
    levels = {
        row: np.unpackbits(packed[row], count=columns * bits).reshape(-1, bits) @ worth
        for row in _near(rows, sheet.runs.rows)
    }
    owed = _shared_out(levels, set(rows.tolist()), 2**bits - 1)
    for row, values in levels.items():
        packed[row] = np.packbits(np.unpackbits(values[:, None], axis=1)[:, 8 - bits :].reshape(-1))
    packed.flags.writeable = False
    return packed, owed


def _near(rows: ndarray, count: int) -> list[int]:
    """The rows and those beside them, in order."""
    near = np.unique(np.concatenate([rows - 1, rows, rows + 1]))
    return [int(row) for row in near[(near >= 0) & (near < count)]]


def _shared_out(levels: Rows, gone: set[int], top: int) -> int:
    """Empties the rows that are gone into those beside; returns the level steps that found no place."""
    lost = 0
    for row in sorted(gone):
        wanted = levels[row]
        places = np.flatnonzero(wanted)
        beside = [other for other in (row - 1, row + 1) if other in levels and other not in gone]
        for half, order in ((places[::2], beside), (places[1::2], beside[::-1])):
            owed = wanted[half]
            for other in order:
                given = np.minimum(top - levels[other][half], owed)
                levels[other][half] += given
                owed = owed - given
            lost += int(owed.sum())
        levels[row] = np.zeros_like(wanted)
    return lost


def _levels_of_runs(drops: raster.Runs, row: int) -> ndarray:
    levels = np.zeros(drops.columns, np.uint8)
    for first, last in drops.at[drops.start[row] : drops.start[row + 1]].reshape(-1, 2):
        levels[first:last] = 1
    return levels


def _spliced(drops: raster.Runs, levels: Rows) -> raster.Runs:
    """The runs with some rows replaced."""
    counts, pieces, after = np.diff(drops.start), [], 0
    for row in sorted(levels):
        edges = np.flatnonzero(np.diff(levels[row].astype(np.int8), prepend=0, append=0))
        pieces += [drops.at[after : drops.start[row]], edges.astype(np.int32)]
        counts[row], after = edges.size, drops.start[row + 1]
    pieces.append(drops.at[after:])
    start = np.concatenate([[0], np.cumsum(counts)])
    return raster.runs(drops.columns, drops.rows, start, np.concatenate(pieces))
