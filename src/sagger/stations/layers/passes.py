"""How a head covers a layer: stripes, passes, nozzles, and what a dead nozzle leaves undone."""

from __future__ import annotations

import dataclasses
import math
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import StopError
from sagger.geometry import raster
from sagger.goods.head import Head
from sagger.goods.stack import Stack
from sagger.stations.layers.band import Sheet


class Pass(NamedTuple):
    """One run of the head along x: nozzle n prints row `first + n * step`, if it lies in the layer."""

    stripe: int  # from 0, along y
    first: int  # row under nozzle 0; may lie below row 0
    step: int  # rows between neighbouring nozzles
    nozzles: int
    turn: int  # which of the passes over the same rows, from 0


def passes(stack: Stack, head: Head) -> tuple[Pass, ...]:
    """Passes that print every row of a layer as often as the head's redundancy asks.

    Interlaced: with nozzles farther apart than rows, neighbouring rows are printed by passes moved by a row.
    Redundant: each further turn moves the head by a share of its width, so another nozzle comes to a row.

    Parameters
    ----------
    stack : Stack
        Gives the rows.
    head : Head
        Gives nozzles, their spacing, and redundancy.

    Raises
    ------
    StopError
        If the rows do not lie a whole number of times between two nozzles.
    """
    printed, native = head.resolution_y.value, head.native_y.value
    step = round(printed / native)
    if step < 1 or abs(step * native / printed - 1) > 1e-3:
        dpi = printed * 0.0254, native * 0.0254
        text = f"{dpi[0]:g} dpi across the pass is no multiple of the nozzles' {dpi[1]:g} dpi"
        raise StopError(f"{text}; check resolution_y and native_y on the head card")
    nozzles, turns = round(head.nozzles.value), max(1, round(head.redundancy.value))
    swath = nozzles * step
    planned = []
    for turn in range(turns):
        back = turn * (nozzles // turns) * step
        for stripe in range(math.ceil((stack.rows + back) / swath)):
            for interlace in range(step):
                planned.append(Pass(stripe, stripe * swath - back + interlace, step, nozzles, turn))
    return tuple(planned)


def served(planned: tuple[Pass, ...], dead: frozenset[int], rows: int) -> ndarray:
    """Which turns bring a living nozzle to which row: bool (rows, turns)."""
    alive = np.zeros((rows, 1 + max(one.turn for one in planned)), bool)
    nozzles = np.setdiff1d(np.arange(planned[0].nozzles), list(dead))
    for one in planned:
        reached = one.first + nozzles * one.step
        alive[reached[(reached >= 0) & (reached < rows)], one.turn] = True
    return alive


def pass_image(drops: raster.Runs, one: Pass, alive: ndarray) -> raster.Runs:
    """What one pass prints: row n of the image is nozzle n.

    Where several turns bring a living nozzle to a row they share its columns by turns.

    Parameters
    ----------
    drops : Runs
        The layer.
    one : Pass
        From `passes`.
    alive : bool (rows, turns)
        From `served`.
    """
    start = np.zeros(one.nozzles + 1, np.int32)
    spans = []
    for nozzle in range(one.nozzles):
        row = one.first + nozzle * one.step
        held = drops.at[:0]
        if 0 <= row < drops.rows and alive[row, one.turn]:
            held = drops.at[drops.start[row] : drops.start[row + 1]]
            turns = int(alive[row].sum())
            if turns > 1 and held.size:
                held = _every(held, turns, int(alive[row, : one.turn].sum()))
        spans.append(held)
        start[nozzle + 1] = start[nozzle] + held.size
    return raster.Runs(columns=drops.columns, rows=one.nozzles, start=start, at=np.concatenate(spans))


def pass_sheet(sheet: Sheet, one: Pass, alive: ndarray) -> Sheet:
    """What one pass prints of a sheet, of one bit or grey: row n of its image is nozzle n.

    Parameters as for `pass_image`, whose columns it shares out where the sheet is all runs.
    """
    if sheet.packed is None:
        return dataclasses.replace(sheet, runs=pass_image(sheet.runs, one, alive))
    columns = sheet.runs.columns
    packed = np.zeros((one.nozzles, sheet.packed.shape[1]), np.uint8)
    for nozzle in range(one.nozzles):
        row = one.first + nozzle * one.step
        if 0 <= row < sheet.runs.rows and alive[row, one.turn]:
            turns = int(alive[row].sum())
            mine = np.arange(columns) % turns == int(alive[row, : one.turn].sum())
            packed[nozzle] = sheet.packed[row] & np.packbits(np.repeat(mine, sheet.bits))
    return dataclasses.replace(sheet, runs=raster.blank(columns, one.nozzles), packed=packed)


def missed(stack: Stack, head: Head) -> tuple[int, ...]:
    """Rows that no living nozzle comes to in any turn."""
    if not head.dead_nozzles:
        return ()
    alive = served(passes(stack, head), frozenset(head.dead_nozzles), stack.rows)
    return tuple(int(row) for row in np.flatnonzero(~alive.any(axis=1)))


def _every(spans: ndarray, turns: int, turn: int) -> ndarray:
    """Spans of single drops: the columns of `spans` that leave `turn` when divided by `turns`."""
    columns = np.concatenate([np.arange(a, b) for a, b in spans.reshape(-1, 2)])
    mine = columns[columns % turns == turn].astype(np.int32)
    return np.stack([mine, mine + 1], axis=1).reshape(-1)
