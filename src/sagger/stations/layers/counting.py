"""What drawing a layer found, and all layers together."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from sagger.geometry import raster
from sagger.geometry.raster import halftone
from sagger.geometry.raster.sizes import sizes
from sagger.goods.stack import DropClass, Tally
from sagger.stations.layers.band import Sheet


class Count(NamedTuple):
    """What one layer came to."""

    levels: tuple[int, ...]  # drops of each size, smallest first
    classes: tuple[DropClass, ...]  # as wanted, before rows without a nozzle are made good
    section_mm2: float
    leaks: int
    bridges: int
    longest_mm: float
    lost: int  # drops of rows without a nozzle that found no place beside
    digest: str
    rows: tuple[int, int]  # lowest and highest with drops; -1 where there are none


def counted(wanted: Sheet, printed: Sheet, lost: int, k: int) -> Count:
    """Counts of layer k.

    Parameters
    ----------
    wanted, printed : Sheet
        As drawn, and with rows without a nozzle made good; the same if there are none.
    lost : int
        From `made_good`.
    k : int
        Layer, which shifts the mask of fractional saturations.
    """
    return Count(
        levels=(printed.drops,) if printed.packed is None else sizes(printed.packed, printed.bits),
        classes=_classes(wanted, k),
        section_mm2=float(wanted.section_mm2),
        leaks=int(wanted.leaks),
        bridges=int(wanted.bridges),
        longest_mm=float(wanted.longest_mm),
        lost=lost,
        digest=printed.digest,
        rows=_rows(printed),
    )


def tally(counts: Iterable[Count]) -> Tally:
    """The counts of all layers, in order from the first."""
    rows = list(counts)
    state = hashlib.sha256()
    for row in rows:
        state.update(row.digest.encode())
    return Tally(
        levels=np.array([row.levels for row in rows], np.int64),
        classes=merged(each for row in rows for each in row.classes),
        section_mm2=np.array([row.section_mm2 for row in rows], np.float64),
        leaks=sum(row.leaks for row in rows),
        bridges=sum(row.bridges for row in rows),
        longest_mm=max(row.longest_mm for row in rows),
        lost=sum(row.lost for row in rows),
        digest=state.hexdigest()[:32],
        rows=np.array([row.rows for row in rows], np.int32),
    )


def merged(classes: Iterable[DropClass]) -> tuple[DropClass, ...]:
    """Classes of one saturation added up, highest saturation first."""
    by_share: dict[float, list[DropClass]] = {}
    for group in classes:
        by_share.setdefault(group.share, []).append(group)
    return tuple(
        DropClass(
            share=share,
            places=sum(group.places for group in by_share[share]),
            drops=None if any(group.drops is None for group in by_share[share]) else _drops(by_share[share]),
        )
        for share in sorted(by_share, reverse=True)
    )


def _rows(sheet: Sheet) -> tuple[int, int]:
    """Lowest and highest row in which binder is wanted; of levels and halftones, where some may fall."""
    found = [np.flatnonzero(np.diff(runs.start)) for runs in _all_runs(sheet)]
    ends = [(int(rows[0]), int(rows[-1])) for rows in found if rows.size]
    return (min(low for low, _ in ends), max(high for _, high in ends)) if ends else (-1, -1)


def _all_runs(sheet: Sheet) -> tuple[raster.Runs, ...]:
    return (sheet.runs,) if sheet.packed is None else tuple(field.runs for field in sheet.fields)


def _drops(classes: Iterable[DropClass]) -> int:
    return sum(each.drops or 0 for each in classes)


def _classes(sheet: Sheet, k: int) -> tuple[DropClass, ...]:
    if sheet.packed is None:  # every place has its drop
        (field,) = sheet.fields
        return (DropClass(share=field.share, places=sheet.drops, drops=sheet.drops),)
    classes = []
    for field in sheet.fields:
        places = raster.count(field.runs)
        drops = None
        if sheet.bits == 1:
            drops = places if field.share == 1 else halftone.held(field.runs, field.share, k)
        classes.append(DropClass(share=field.share, places=places, drops=drops))
    return merged(classes)
