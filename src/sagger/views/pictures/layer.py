"""Pictures of one layer of drops, as seen from above: x to the right, y upwards, so row 0 is the lowest."""

from __future__ import annotations

import numpy as np
from numpy import ndarray
from PIL import Image, ImageDraw, ImageFont

from sagger.compiled import checked
from sagger.geometry.raster import Runs
from sagger.views.pictures.bed import png

_PAPER, _INK, _FRAME = 255, 20, 130
_GRID = 232  # between drops of a crop
_BARS_MM = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200)


def picture(
    drops: Runs, pitch_mm: tuple[float, float], width_px: int = 1200, mark: tuple[int, ...] = ()
) -> bytes:
    """A PNG of the whole bed; each pixel is as dark as the share of it that drops cover, exactly.

    Parameters
    ----------
    drops : Runs
        The layer.
    pitch_mm : tuple of 2 float
        Spacing of drops along x and y.
    width_px : int
        Width of the picture; its height follows from the bed.
    mark : tuple of 4 int
        Window (column, row, columns, rows) to frame, such as the one `crop` shows; empty for none.
    """
    width_mm, depth_mm = drops.columns * pitch_mm[0], drops.rows * pitch_mm[1]
    height_px = max(1, round(width_px * depth_mm / width_mm))
    dark = coverage(drops, width_px, height_px)
    image = _grey(_PAPER - dark[::-1] * (_PAPER - _INK))
    pen = ImageDraw.Draw(image)
    pen.rectangle((0, 0, width_px - 1, height_px - 1), outline=_FRAME)
    if mark:
        _mark(pen, mark, (width_px / drops.columns, height_px / drops.rows), height_px)
    return png(_with_bar(image, width_px / width_mm))


def crop(
    drops: Runs, pitch_mm: tuple[float, float], window: tuple[int, int, int, int], drop_px: int = 12
) -> bytes:
    """A PNG of a window (column, row, columns, rows) at drop scale; each drop is a square of its own."""
    bits = np.zeros((window[3], window[2]), np.uint8)
    _stamp(drops.start, drops.at, window[0], window[1], bits)
    tall_px = max(3, round(drop_px * pitch_mm[1] / pitch_mm[0]))
    large = np.repeat(np.repeat(bits[::-1], tall_px, axis=0), drop_px, axis=1)
    grey = np.where(large > 0, _INK, _PAPER)
    grey[::tall_px] = _GRID
    grey[:, ::drop_px] = _GRID
    image = _grey(grey)
    ImageDraw.Draw(image).rectangle((0, 0, image.width - 1, image.height - 1), outline=_FRAME)
    return png(_with_bar(image, drop_px / pitch_mm[0]))


def edge(drops: Runs, columns: int, rows: int) -> tuple[int, int, int, int]:
    """The window (column, row, columns, rows) of about this size that shows an outline best.

    Taken is the one in which cover varies most both across and along: a corner or a curve, drops beside bare
    powder.
    """
    columns, rows = min(columns, drops.columns), min(rows, drops.rows)
    cells = (max(4, 4 * drops.rows // rows), max(4, 4 * drops.columns // columns))
    parts = np.lib.stride_tricks.sliding_window_view(coverage(drops, cells[1], cells[0]), (4, 4))
    both = np.minimum(parts.mean(axis=2).var(axis=-1), parts.mean(axis=3).var(axis=-1))
    shown = both + 0.01 * parts.var(axis=(2, 3))
    row, column = np.unravel_index(np.argmax(np.round(shown, 9)), shown.shape)
    column_at = min(int(column) * drops.columns // cells[1], drops.columns - columns)
    return column_at, min(int(row) * drops.rows // cells[0], drops.rows - rows), columns, rows


def coverage(drops: Runs, columns: int, rows: int) -> ndarray:
    """Share of each cell of another raster that drops cover, float64 (rows, columns), row 0 at y = 0."""
    out = np.zeros((rows, columns))
    _cover(drops.start, drops.at, columns / drops.columns, rows / drops.rows, out)
    return np.clip(out, 0.0, 1.0)


@checked
def _cover(start, at, scale_x, scale_y, out):  # type: ignore[no-untyped-def]
    """Add each drop's area, in cells, to the cells it lies on."""
    line = np.zeros(out.shape[1])
    for row in range(start.shape[0] - 1):
        if start[row] == start[row + 1]:
            continue
        line[:] = 0.0
        for i in range(start[row], start[row + 1], 2):
            low, high = at[i] * scale_x, at[i + 1] * scale_x
            for cell in range(int(low), min(int(np.ceil(high)), line.shape[0])):
                line[cell] += min(high, cell + 1.0) - max(low, float(cell))
        bottom, top = row * scale_y, (row + 1) * scale_y
        for cell in range(int(bottom), min(int(np.ceil(top)), out.shape[0])):
            out[cell] += line * (min(top, cell + 1.0) - max(bottom, float(cell)))


@checked
def _stamp(start, at, column, row, bits):  # type: ignore[no-untyped-def]
    """Set the drops of a window."""
    for r in range(max(0, -row), min(bits.shape[0], start.shape[0] - 1 - row)):
        for i in range(start[row + r], start[row + r + 1], 2):
            bits[r, max(0, at[i] - column) : max(0, at[i + 1] - column)] = 1


def _grey(levels: ndarray) -> Image.Image:
    return Image.fromarray(np.rint(levels).astype(np.uint8))


def _mark(
    pen: ImageDraw.ImageDraw, window: tuple[int, ...], scale: tuple[float, float], height_px: int
) -> None:
    column, row, columns, rows = window
    left, right = column * scale[0], (column + columns) * scale[0]
    top, bottom = height_px - (row + rows) * scale[1], height_px - row * scale[1]
    grown = max(0.0, 7 - (right - left) / 2)  # a window of a few pixels must still be found
    pen.rectangle((left - grown, top - grown, right + grown, bottom + grown), outline=0, width=2)


def _with_bar(image: Image.Image, px_per_mm: float) -> Image.Image:
    """The picture with a scale bar below, at most a third of its width."""
    length = max((bar for bar in _BARS_MM if bar * px_per_mm <= image.width / 3), default=_BARS_MM[0])
    text = f"{length:g} mm"
    size = max(13.0, image.width / 36)
    sheet = Image.new("L", (image.width, image.height + round(size * 2)), _PAPER)
    sheet.paste(image, (0, 0))
    pen = ImageDraw.Draw(sheet)
    y, end = image.height + round(size), round(length * px_per_mm)
    pen.line((1, y, end, y), fill=_INK, width=2)
    for x in (1, end):
        pen.line((x, y - 5, x, y + 5), fill=_INK, width=2)
    font = ImageFont.load_default(size=size)
    pen.text((end + size, y), f"{text}   from above, x right, y up", fill=_INK, font=font, anchor="lm")
    return sheet
