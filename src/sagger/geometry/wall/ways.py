"""Ways by which powder leaves the inside of a part: how long, how narrow, how many openings [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy import ndimage

from sagger.compiled import checked
from sagger.geometry.wall import distance
from sagger.geometry.wall.cavities import Flooded

TOUCH = ndimage.generate_binary_structure(3, 3)  # cells that share a corner touch
COARSE = 3  # cells along a cube in which the reach of a tool is judged
CHAMFER = 3  # length of a step to a face, in the units of `_ways`; 4 over an edge, 5 over a corner


class Pocket(NamedTuple):
    """Loose powder inside a part that the ball leaves, but a tool of `tool_mm` does not reach."""

    volume_mm3: float
    at_mm: ndarray  # float64 (3,): the place with the longest way for its width
    length_mm: float  # from there to where the tool reaches; known to some 6 %
    width_mm: float  # of the narrowest place on the widest way from there; known to about a cell
    openings: int  # places at which the pocket meets what the tool reaches

    @property
    def slimness(self) -> float:
        """Length of the way over its width [-]."""
        return self.length_mm / self.width_mm


def pockets(flooded: Flooded, tool_mm: float) -> list[Pocket]:
    """Pockets of a flooded part, that with the slimmest way first.

    Parameters
    ----------
    flooded : Flooded
        By the ball that stands for the powder.
    tool_mm : float
        Diameter of what is led in from outside (an air lance, a brush), over that of the ball.

    Source
    ------
    Shortest way by steps of 3, 4 and 5 thirds (Borgefors, CVGIP 34 (1986) 344); widest way by a flood
    from outside that takes the widest cell first.
    """
    reached = flooded.rooms == flooded.open_air
    near = reached & _by_tool(flooded, tool_mm)
    inside = reached & ~near
    labels, count = ndimage.label(inside, TOUCH)
    if not count:
        return []
    mouths = near & ndimage.binary_dilation(inside, TOUCH)
    squared = np.rint(flooded.apart**2).astype(np.int32)
    field = _WayField(labels, mouths, *_ways(inside, mouths, squared))
    places = enumerate(ndimage.find_objects(labels), 1)
    made = [_pocket(flooded, field, label, place) for label, place in places]
    return sorted((one for one in made if one is not None), key=lambda pocket: -pocket.slimness)


class _WayField(NamedTuple):
    """Every cell of the grid on its way out."""

    labels: ndarray  # of the pocket it belongs to, 0 = none
    mouths: ndarray  # bool: reached by a tool, beside a pocket
    length: ndarray  # steps to the nearest mouth [thirds of a cell]
    width: ndarray  # squared distance from the surface of the narrowest cell on the widest way [cells2]


def _by_tool(flooded: Flooded, tool_mm: float) -> ndarray:
    """Cells that a tool led in from outside covers, judged in cubes of `COARSE` cells."""
    solid = flooded.grid.solid
    fill = [(0, -size % COARSE) for size in solid.shape]
    counts = tuple(count for size in solid.shape for count in (-(-size // COARSE), COARSE))
    coarse = np.pad(solid, fill).reshape(counts).any(axis=(1, 3, 5))
    radius = tool_mm / 2 / flooded.grid.pitch_mm / COARSE
    rim = int(np.ceil(radius)) + 2
    rooms, _ = ndimage.label(distance.squared(np.pad(coarse, rim)) >= radius**2)
    middle = rooms == rooms[0, 0, 0]
    covered = distance.squared(middle) <= (radius + 0.5) ** 2
    for axis, size in enumerate(solid.shape):
        inner = np.take(covered, range(rim, covered.shape[axis] - rim), axis)
        covered = np.take(np.repeat(inner, COARSE, axis), range(size), axis)
    return np.asarray(covered)


def _pocket(flooded: Flooded, field: _WayField, label: int, place: tuple[slice, ...]) -> Pocket | None:
    """One pocket, judged at those of its cells that lie in the middle of the way; None if it has none."""
    margin = int(np.ceil(flooded.reach)) + 1
    window = tuple(slice(max(0, span.start - margin), span.stop + margin) for span in place)
    own, apart, steps = field.labels[window] == label, flooded.apart[window], field.length[window]
    width = field.width[window]
    middle = own & (steps >= 0) & (apart >= ndimage.maximum_filter(apart, 3) - 1e-6)
    if not middle.any():
        return None
    spots = np.argwhere(middle)
    slim = steps[middle] / CHAMFER / (2 * np.sqrt(width[middle]))
    best = spots[int(np.argmax(slim))]
    pitch, corner = flooded.grid.pitch_mm, np.array([span.start for span in window])
    filled = distance.squared(own) <= flooded.reach**2
    filled &= flooded.empty[window]
    openings = ndimage.label(field.mouths[window] & ndimage.binary_dilation(own, TOUCH), TOUCH)[1]
    return Pocket(
        volume_mm3=float(np.count_nonzero(filled)) * pitch**3,
        at_mm=flooded.grid.low + pitch * (best + corner),
        length_mm=float(steps[tuple(best)]) / CHAMFER * pitch,
        width_mm=2 * float(np.sqrt(width[tuple(best)])) * pitch,
        openings=int(openings),
    )


def steps(inside: ndarray, roots: ndarray) -> ndarray:
    """Steps from the roots to each cell [thirds of a cell], int32; -1 where there is no way."""
    own = inside | roots
    cells, where = _numbered(own)
    length = np.full(inside.shape, -1, dtype=np.int32)
    length[own] = _shortest(cells, where, roots[own])
    return length


def _ways(inside: ndarray, mouths: ndarray, squared: ndarray) -> tuple[ndarray, ndarray]:
    """Steps to the nearest mouth [thirds of a cell; -1 = no way], and the narrowest cell on the widest way.

    The latter as the squared distance of that cell from the surface [cells2].
    """
    own = inside | mouths
    cells, where = _numbered(own)
    width = np.zeros(inside.shape, dtype=np.int32)
    width[own] = _widest(cells, where, mouths[own], squared[own])
    return steps(inside, mouths), width


def _numbered(own: ndarray) -> tuple[ndarray, ndarray]:
    """The number of each cell, -1 elsewhere; and where each lies."""
    cells = np.full(own.shape, -1, dtype=np.int32)
    cells[own] = np.arange(np.count_nonzero(own), dtype=np.int32)
    return cells, np.argwhere(own).astype(np.int32)


@checked
def _shortest(cells: ndarray, where: ndarray, mouth: ndarray) -> ndarray:
    """Label-correcting search from all mouths at once; the queue goes round."""
    far = np.int32(2**30)
    count = len(where)
    length = np.where(mouth, np.int32(0), far)
    queue = np.empty(count, np.int32)
    waiting = np.zeros(count, np.bool_)
    head, held = 0, 0
    for cell in range(count):
        if mouth[cell]:
            queue[held], waiting[cell] = cell, True
            held += 1
    while held:
        cell = queue[head]
        head, held = (head + 1) % count, held - 1
        waiting[cell] = False
        x, y, z = where[cell]
        for turn in range(27):
            i, j, k = turn // 9 - 1, turn // 3 % 3 - 1, turn % 3 - 1
            other = _at(cells, x + i, y + j, z + k)
            step = length[cell] + 2 + i * i + j * j + k * k
            if other >= 0 and other != cell and step < length[other]:
                length[other] = step
                if not waiting[other]:
                    queue[(head + held) % count], waiting[other] = other, True
                    held += 1
    return np.where(length == far, np.int32(-1), length)


@checked
def _widest(cells: ndarray, where: ndarray, mouth: ndarray, squared: ndarray) -> ndarray:
    """Flood from the mouths, the widest cell first; cells of one width wait in a chain."""
    count, levels = len(where), int(squared.max()) + 1
    first = np.full(levels, -1, np.int32)
    after = np.full(count, -1, np.int32)
    width = np.zeros(count, np.int32)
    for cell in range(count):
        if mouth[cell]:
            width[cell] = squared[cell]
            after[cell], first[squared[cell]] = first[squared[cell]], cell
    for level in range(levels - 1, -1, -1):
        while first[level] >= 0:
            cell = first[level]
            first[level] = after[cell]
            x, y, z = where[cell]
            for turn in range(27):
                other = _at(cells, x + turn // 9 - 1, y + turn // 3 % 3 - 1, z + turn % 3 - 1)
                if other >= 0 and width[other] == 0:
                    width[other] = min(level, squared[other])
                    after[other], first[width[other]] = first[width[other]], other
    return width


@checked
def _at(cells: ndarray, x: int, y: int, z: int) -> int:
    """Number of a cell, -1 outside."""
    inside = 0 <= x < cells.shape[0] and 0 <= y < cells.shape[1] and 0 <= z < cells.shape[2]
    return cells[x, y, z] if inside else -1
