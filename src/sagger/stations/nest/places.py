"""Parts with tight tolerances in the places where pieces come out nearest to nominal."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
from numpy import ndarray

from sagger.errors import StopError
from sagger.goods.finding import Against, ok
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Nest
from sagger.goods.learned import BedMap
from sagger.goods.order import Choices
from sagger.physics.sintering import shrinkage
from sagger.stations.nest.fill import Desk, PlacedPose
from sagger.stations.nest.noted import high_mm, noted
from sagger.stations.nest.room import NestRoom, PlaceWish
from sagger.stations.nest.search import RankedFilling
from sagger.statistics import field, tolerance

BY_TOLERANCE = "by tolerance"
_CELLS = 12  # along each side of the room
_FAINT = 1e-6  # relative: places that differ by less are alike


def wish(greens: tuple[Green, ...], room: NestRoom, choices: Choices, bed: BedMap | None) -> PlaceWish | None:
    """What is wanted of places; None where nothing is, or where no place or part differs.

    Raises
    ------
    StopError
        If places are to be chosen and there is no map of the bed.
    """
    if choices.nesting.places != BY_TOLERANCE:
        return None
    middles = [(np.arange(_CELLS) + 0.5) / _CELLS * size for size in room.size]
    z, y, x = np.meshgrid(middles[2], middles[1], middles[0], indexing="ij")
    low = np.array([room.wall, room.wall, room.floor])
    at = np.stack([x, y, z], axis=-1).reshape(-1, 3) + low
    at[:, 2] /= room.stretch
    off = off_at(_known(bed), at, corrected=choices.by_place).reshape(x.shape)
    tight = tightness(greens)
    mean = float(np.average(tight, weights=[max(1, green.part.request.started) for green in greens]))
    if np.ptp(off) < _FAINT or np.ptp(tight) < 1e-9 * mean:
        return None
    return PlaceWish((off - off.min()) / np.ptp(off), (tight - mean) / tight.max())


def _known(bed: BedMap | None) -> BedMap:
    if bed is None:
        raise StopError(
            'places = "by tolerance" in [nesting] needs an approved map of the bed; print and measure '
            "coupons, then `sagger learn propose`; or leave places out"
        )
    return bed


def off_at(bed: BedMap, at_mm: ndarray, *, corrected: bool) -> ndarray:
    """How far off lengths come out at places (n, 3) of the box, relative, float64 (n,) [-].

    Deviation from the oversize in force and its standard uncertainty, root of the sum of squares; where each
    piece has the oversize of its own place (`corrected`), the uncertainty alone.
    """
    seen = field.seen(
        bed.places_mm, bed.density, field.FieldModel(bed.axes, bed.amplitude, bed.reach_mm, bed.noise), at_mm
    )
    own = shrinkage.own_oversize(seen.mean, bed.reference)
    doubt = own * seen.u / seen.mean / 3  # derivative of the cube root
    return np.asarray(doubt if corrected else np.hypot(own - 1.0, doubt))


def tightness(greens: tuple[Green, ...]) -> ndarray:
    """Size over half width of the tolerance on it, the tightest of the three sizes, float64 (parts,) [-]."""
    return np.array([_tightness(green) for green in greens])


def _tightness(green: Green) -> float:
    asked = green.part.request.tolerance
    sizes = [size for size in green.part.extent_mm if size > 0]
    if asked.kind == "percent":
        return 100.0 / asked.value
    if asked.kind == "mm":
        return max(sizes) / asked.value
    bands = [(size, tolerance.band(size, asked.steps)) for size in sizes]
    return max((size / band for size, band in bands if band), default=1.0)


def exchanged(filling: RankedFilling) -> RankedFilling:
    """The same filling with pieces of one shape exchanged, the tightest part in the best place."""
    shared, wish = filling.shared, filling.shared.room.wish
    if wish is None:
        return filling
    lies, groups = list(filling.lies), defaultdict(list)
    for number in range(len(shared.held.stills), len(lies)):
        groups[_shape(shared, lies[number].pose)].append(number)
    poses = {
        (form.kind, _shape(shared, pose)): pose for pose, form in enumerate(shared.forms) if form.kind >= 0
    }
    for shape, numbers in groups.items():
        kinds = sorted(
            (shared.forms[lies[number].pose].kind for number in numbers), key=lambda kind: -wish.pull[kind]
        )
        spots = sorted(numbers, key=lambda number: _cell(shared, lies[number], wish))
        for number, kind in zip(spots, kinds, strict=True):
            lies[number] = lies[number]._replace(pose=poses[kind, shape])
    return filling._replace(lies=tuple(lies))


def _shape(shared: Desk, pose: int) -> tuple[bytes, bytes]:
    form = shared.forms[pose]
    green = shared.greens[form.kind]
    return green.shape.vertices.tobytes(), green.maps[form.turn].tobytes()


def _cell(shared: Desk, lie: PlacedPose, wish: PlaceWish) -> float:
    """How far off a piece comes out where it lies, 0 to 1."""
    form, room = shared.forms[lie.pose], shared.room
    low = np.array([lie.z * 1e-3, lie.y * shared.column, lie.x * shared.column])
    share = (low + form.extent[::-1] / 2) / np.array(room.size)[::-1]
    cell = np.clip((share * wish.off.shape).astype(int), 0, np.array(wish.off.shape) - 1)
    return float(wish.off[tuple(cell)])


def told(placed: Nest, plain: Nest, bed: BedMap | None, choices: Choices) -> Nest:
    """The nest with a word on what the choice of places gains the tightest parts, and what it costs."""
    known = _known(bed)
    heights = [high_mm(nest) for nest in (placed, plain)]
    off = [exposed(nest, known, corrected=choices.by_place) for nest in (placed, plain)]
    text = (
        f"Parts with the tightest tolerance lie where lengths come out {off[0]:.3%} off (root mean "
        f"square), instead of {off[1]:.3%}; builds are {heights[0]:.1f} mm high in all instead of "
        f"{heights[1]:.1f} mm."
    )
    return noted(
        placed, ok("places by tolerance", text, Against(heights[0], heights[1], "mm", "map of the bed"))
    )


def exposed(nest: Nest, bed: BedMap, *, corrected: bool) -> float:
    """How far off lengths of the tightest parts come out by their places, root mean square, relative [-]."""
    values = [_off(layout, bed, corrected) for layout in nest.layouts if layout.pieces]
    return float(np.sqrt(np.mean(np.concatenate(values) ** 2)))


def _off(layout: Layout, bed: BedMap, corrected: bool) -> ndarray:
    tight = tightness(layout.greens)
    here = [piece for piece in layout.pieces if tight[piece.part] >= 0.999 * tight.max()]
    if not here:
        return np.zeros(0)
    middles = []
    for piece in here:
        at = layout.greens[piece.part].shape.vertices @ piece.placement[:3, :3].T
        middles.append((at.min(axis=0) + at.max(axis=0)) / 2 + piece.placement[:3, 3])
    return off_at(bed, np.array(middles), corrected=corrected)
