"""Pictures of a nested box: from a corner, from above, from the front."""

from __future__ import annotations

import io
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from PIL import Image, ImageDraw, ImageFont

from sagger.goods.layout import Layout
from sagger.units import into
from sagger.views.pictures.camera import NOBODY, Camera, Film, camera, expose, project
from sagger.views.pictures.palette import colour, letter

FINER = 2  # drawn this many times finer than asked, then averaged: smooth edges
GRID_MM = 50.0
_LABEL_STEP = 4  # places for labels are looked for on every fourth pixel
_INK, _PALE, _FLOOR, _GRID = (40, 44, 52), (170, 174, 182), (240, 241, 243), (222, 224, 228)


class BedView(NamedTuple):
    azimuth_deg: float
    elevation_deg: float


CORNER = BedView(-58.0, 27.0)
ABOVE = BedView(-90.0, 90.0)
FRONT = BedView(-90.0, 0.0)


def picture(
    layout: Layout,
    width_px: int = 1400,
    height_px: int = 900,
    view: BedView = CORNER,
    *,
    labels: bool = False,
) -> bytes:
    """A PNG of one box: every piece in its place, flat shaded, in the colour of its part.

    The walls are drawn up to the build's height, not to the full height of the job box. x, y and z are the
    machine's axes: x along the spreading stroke, y across it, z up; `ABOVE` has x to the right and y up.

    Parameters
    ----------
    layout : Layout
        The box with its pieces.
    width_px, height_px : int
        Width, and most height: the picture is no higher than the box needs at that width.
    view : View
        Where the eye stands: `CORNER`, `ABOVE`, `FRONT`, or any other.
    labels : bool
        Write part letter and piece number on pieces that show enough of themselves, e.g. "A12".

    Returns
    -------
    bytes
        The PNG, the same for the same input.
    """
    corners = _corners(layout)
    eye = camera(corners, *view, (width_px * FINER, height_px * FINER), margin=width_px * FINER // 9)
    film = expose(eye, _solids(layout))
    paper = Image.new("RGB", (eye.columns, eye.rows), (255, 255, 255))
    pen = ImageDraw.Draw(paper)
    _floor(pen, eye, corners)
    _edges(pen, eye, corners, front=False)
    inked = Image.fromarray(_ink(np.asarray(paper), film, layout))
    pen = ImageDraw.Draw(inked)
    _edges(pen, eye, corners, front=True)
    _axes(pen, eye, corners)
    if labels:
        _labels(pen, film, layout)
    return png(inked.reduce(FINER))


def png(image: Image.Image) -> bytes:
    """The bytes of a PNG file."""
    out = io.BytesIO()
    image.save(out, "PNG", compress_level=7)
    return out.getvalue()


def _corners(layout: Layout) -> ndarray:
    """Corners of the box up to the build's height [mm]; bit 0 of the index = far x, 1 = far y, 2 = top."""
    box = layout.box
    far = (into(box.length_x.value, "mm"), into(box.length_y.value, "mm"), layout.height_mm)
    return np.array([[far[axis] * (corner >> axis & 1) for axis in range(3)] for corner in range(8)])


def _solids(layout: Layout) -> list[tuple[ndarray, ndarray]]:
    solids = []
    for piece in layout.pieces:
        shape = layout.greens[piece.part].shape
        solids.append((shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3], shape.triangles))
    return solids


def _ink(paper: ndarray, film: Film, layout: Layout) -> ndarray:
    """Paper with the pieces on it, outlined so that they part in black and white too."""
    tones = np.array([colour(piece.part) for piece in layout.pieces], float).reshape(-1, 3)
    seen = film.owner != NOBODY
    out = paper.copy()
    out[seen] = (tones[film.owner[seen]] * film.shade[seen, None]).astype(np.uint8)
    for line, strength in ((_steps(film.shade, 0.15) & seen, 0.62), (_steps(film.owner, 0.5), 0.18)):
        out[line] = (out[line] * strength).astype(np.uint8)
    return out


def _steps(values: ndarray, least: float) -> ndarray:
    """True on both sides of every step between neighbouring pixels that is larger than `least`."""
    out = np.zeros(values.shape, bool)
    down = np.abs(np.diff(values, axis=0)) > least
    across = np.abs(np.diff(values, axis=1)) > least
    out[1:] |= down
    out[:-1] |= down
    out[:, 1:] |= across
    out[:, :-1] |= across
    return out


def _floor(pen: ImageDraw.ImageDraw, eye: Camera, corners: ndarray) -> None:
    ring = project(eye, corners[[0, 1, 3, 2]])[:, :2]
    pen.polygon([tuple(point) for point in ring], fill=_FLOOR)
    far_x, far_y = corners[3, :2]
    for x in np.arange(GRID_MM, far_x, GRID_MM):
        _line(pen, eye, np.array([[x, 0, 0], [x, far_y, 0]]), _GRID, 1)
    for y in np.arange(GRID_MM, far_y, GRID_MM):
        _line(pen, eye, np.array([[0, y, 0], [far_x, y, 0]]), _GRID, 1)


def _edges(pen: ImageDraw.ImageDraw, eye: Camera, corners: ndarray, *, front: bool) -> None:
    """The box's edges behind the pieces, or those before them (edges of a wall that faces the eye)."""
    gaze = eye.turn[2]
    for start in range(8):
        for axis in range(3):
            end = start | 1 << axis
            if end == start:
                continue
            sides = [(other, 1 if start >> other & 1 else -1) for other in range(3) if other != axis]
            if any(gaze[other] * side > 1e-9 for other, side in sides) == front:
                _line(pen, eye, corners[[start, end]], _PALE if front else _INK, 1 if front else 2)


def _line(
    pen: ImageDraw.ImageDraw, eye: Camera, ends: ndarray, tone: tuple[int, int, int], width: int
) -> None:
    a, b = project(eye, ends)[:, :2]
    pen.line([tuple(a), tuple(b)], fill=tone, width=width * FINER // 2 or 1)


def _axes(pen: ImageDraw.ImageDraw, eye: Camera, corners: ndarray) -> None:
    """Names and lengths of the axes beside the nearest edges that run along them."""
    middle = project(eye, corners.mean(axis=0)[None])[0, :2]
    font = ImageFont.load_default(size=eye.columns / 52)
    for axis, name in enumerate("xyz"):
        length = corners[7, axis]
        if abs(eye.turn[2, axis]) > 0.999:  # seen end on
            continue
        starts = [corner for corner in range(8) if not corner >> axis & 1]
        mids = project(eye, np.array([(corners[s] + corners[s | 1 << axis]) / 2 for s in starts]))
        away = np.abs(mids[:, 0] - middle[0]) * (axis == 2) + (mids[:, 1] - middle[1]) * (axis != 2)
        at = mids[np.lexsort((mids[:, 0], np.round(away, 3)))[-1], :2]
        anchor = ("lm" if at[0] > middle[0] else "rm") if axis == 2 else _below(at, middle, eye)
        nudge = np.array([12, 0]) if anchor[0] == "l" else np.array([-12, 0] if anchor[0] == "r" else [0, 8])
        pen.text(tuple(at + nudge), f"{name}  {length:.0f} mm", fill=_INK, font=font, anchor=anchor)


def _below(at: ndarray, middle: ndarray, eye: Camera) -> str:
    if abs(at[0] - middle[0]) < eye.columns * 0.02:
        return "ma"
    return "la" if at[0] > middle[0] else "ra"


def _labels(pen: ImageDraw.ImageDraw, film: Film, layout: Layout) -> None:
    """Part letter and piece number in the widest place of what is seen of a piece."""
    from scipy import ndimage

    coarse = film.owner[::_LABEL_STEP, ::_LABEL_STEP]
    height = film.owner.shape[1] / 50
    font = ImageFont.load_default(size=height)
    for number, window in enumerate(ndimage.find_objects(coarse + 1, max_label=len(layout.pieces))):
        if window is None:
            continue
        piece = layout.pieces[number]
        room = ndimage.distance_transform_edt(np.pad(coarse[window] == number, 1))
        wanted = min(room.max(), 1.3 * height / _LABEL_STEP)
        if wanted * _LABEL_STEP < 0.8 * height:
            continue
        roomy = np.argwhere(room >= wanted)
        row, column = roomy[np.argmin(((roomy - roomy.mean(axis=0)) ** 2).sum(axis=1))]
        at = [(window[1].start + column - 1) * _LABEL_STEP, (window[0].start + row - 1) * _LABEL_STEP]
        text = f"{letter(piece.part)}{piece.number}"
        pen.text(
            tuple(at), text, fill=_INK, font=font, anchor="mm", stroke_width=4, stroke_fill=(255, 255, 255)
        )
