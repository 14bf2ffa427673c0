"""Heat into a packed box as it is, and cure on every voxel. All SI, temperatures in kelvin.

A box of one material has the exact series of `conduction.py`; this is for walls, base plate, printed pieces,
faces that differ and an oven that follows a programme. Properties are constant; the heat of cure and of
evaporating solvent is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from sagger.errors import LawError
from sagger.physics.heat.box_heat_grid import Face, HeatedBed, HeatGrid, Material, grid, voxel_at
from sagger.physics.heat.box_heat_kinetics import CureKinetics, check, equivalent_needed, speed
from sagger.physics.heat.box_heat_march import Ambients, Stride, march
from sagger.tick import Tick, silent

__all__ = [
    "BoxRun",
    "CureKinetics",
    "CuringBox",
    "Face",
    "HeatedBed",
    "Material",
    "Programme",
    "all_cured",
    "cure",
    "ended",
    "reached",
]

Array = NDArray[np.float64]
Places = NDArray[np.intp]  # among the voxels in a row
Voxel = tuple[int, int, int]
LEAST = 4  # where a line of history keeps the shortest equivalent time
ALLOWED = 0.1  # error of any voxel in one stride [K]; docs/why/cure-solver.md says what that makes in all


class CuringBox(NamedTuple):
    """A packed box as the oven meets it."""

    bed: HeatedBed  # share of each voxel that is printed, widths, properties, temperature at the start
    faces: tuple[Face, ...]  # 6: x low, x high, y low, y high, z low, z high
    kinetics: CureKinetics


class Programme(NamedTuple):
    """What the oven does: corners of a path, straight in between."""

    times: tuple[float, ...]  # rising [s]; the last ends the run
    temperatures: tuple[float, ...]  # [K]


class BoxRun(NamedTuple):
    """What the box did in the oven. Histories begin at time 0, two entries a stride."""

    times: Array  # (n,) [s]
    coldest: Array  # (n,) lowest temperature in any voxel that touches a piece [K]
    hottest: Array  # (n,) highest [K]
    warmest: Array  # (n,) highest in any voxel of the bed, powder included [K]
    least: Array  # (n,) shortest equivalent time at the reference in any such voxel [s]
    most: Array  # (n,) longest [s]
    at: Array  # (places, n) temperature at the places asked for [K]
    seen: Array  # (places, n) equivalent time there [s]
    cured_after: float  # when the last voxel of a piece reached the degree asked [s]; inf if none did
    last: Voxel  # that voxel; the least cured if there was none
    corner: Voxel  # the piece's voxel that had cured most by then
    corner_equivalent: float  # its equivalent time by then [s]
    temperature: Array  # (nx, ny, nz) of the bed at the end [K]
    equivalent: Array  # (nx, ny, nz) of the bed at the end [s]
    heat: float  # come in through all faces [J]


class Moment(NamedTuple):
    """The bed at one time."""

    time: float  # [s]
    temperature: Array  # (nx, ny, nz) [K]
    equivalent: Array  # (nx, ny, nz) [s]
    heat: float  # come in so far [J]


def cure(
    box: CuringBox,
    programme: Programme,
    places: Sequence[tuple[float, float, float]] = (),
    *,
    allowed: float = ALLOWED,
    until: Callable[[Moment], bool] | None = None,
    tick: Tick = silent,
) -> BoxRun:
    """How the box warms and every voxel cures through an oven programme.

    Parameters
    ----------
    box : CuringBox
    programme : Programme
    places : sequence of 3 float
        From the low corner of the bed; their histories are kept [m].
    allowed : float
        Error of any voxel in one stride [K].
    until : callable
        Asked twice a stride; the run ends where it says True, see `all_cured`.

    Returns
    -------
    BoxRun

    Raises
    ------
    LawError
        If the bed, the programme or the kinetics are not ones, or no voxel holds a piece.

    Source
    ------
    Heat: `box_heat_grid`, `box_heat_march`. Cure: equivalent time at the reference, summed by Simpson's rule
    on every stride; its closed form gives the degree for any order, so it can neither fall nor pass 1.
    """
    bed, faces, kinetics = box
    check(kinetics)
    _check(bed, programme)
    cells = grid(bed, faces)
    needed = equivalent_needed(kinetics)
    pieces, spots = np.flatnonzero(bed.parts.ravel() > 0), [voxel_at(bed, place) for place in places]
    oven = meets(faces, lambda time: oven_at(programme, time))
    cold = np.full(cells.capacity.shape, bed.start)
    strides = march(cells, cold, oven, [t for t in programme.times if t > 0], allowed)
    lines: list[tuple[float, ...]] = []
    ends = None
    for moment in _moments(bed, cells, strides, kinetics):
        tick.say("heating the box", int(moment.time), int(programme.times[-1]))
        lines.append(_line(moment, pieces, spots))
        if ends is None and lines[-1][LEAST] >= needed:
            ends = _ends(moment, pieces)
        if until is not None and until(moment):
            break
    return _run(lines, moment, ends or _ends(moment, pieces), needed)


def all_cured(bed: HeatedBed, kinetics: CureKinetics, temperature: float = 0.0) -> Callable[[Moment], bool]:
    """Whether every voxel that touches a piece is cured, and at `temperature` [K] or above, as a question."""
    pieces, needed = np.flatnonzero(bed.parts.ravel() > 0), equivalent_needed(kinetics)

    def answer(moment: Moment) -> bool:
        seen = moment.equivalent.ravel()[pieces].min()
        return bool(seen >= needed and moment.temperature.ravel()[pieces].min() >= temperature)

    return answer


def oven_at(programme: Programme, time: float) -> float:
    """What the oven has at a time [K]; before the first and after the last corner, the corner's."""
    return float(np.interp(time, programme.times, programme.temperatures))


def ended(programme: Programme, end: float) -> Programme:
    """The programme up to `end` [s]; held on if it was shorter."""
    kept = [(t, kelvin) for t, kelvin in zip(*programme, strict=True) if t < end]
    kept.append((end, oven_at(programme, end)))
    return Programme(tuple(time for time, _ in kept), tuple(kelvin for _, kelvin in kept))


def meets(faces: tuple[Face, ...], oven: Callable[[float], float]) -> Callable[[float], Ambients]:
    """What the six faces meet, as a function of time: the oven, or what is their own."""

    def ambients(time: float) -> Ambients:
        now = oven(time)
        six = [now if face.ambient is None else face.ambient for face in faces]
        return ((six[0], six[1]), (six[2], six[3]), (six[4], six[5]))

    return ambients


def reached(times: Array, rising: Array, target: float) -> float:
    """When a history that rises comes to `target`; inf if it does not.

    Parameters
    ----------
    times, rising : array (n,)
        As in a `Run`.
    target : float
        In the unit of `rising`.
    """
    if rising[0] >= target:
        return float(times[0])
    past = np.flatnonzero(rising >= target)
    if not past.size:
        return inf
    some = slice(max(int(past[0]) - 3, 0), int(past[0]) + 3)
    roots = PchipInterpolator(times[some], rising[some]).solve(target, extrapolate=False)
    return float(roots[0])


def _moments(
    bed: HeatedBed, box: HeatGrid, strides: Iterable[Stride], kinetics: CureKinetics
) -> Iterator[Moment]:
    """The bed at time 0, then in the middle and at the end of each stride.

    Source: integral of the parabola through three rates; over the whole stride that is Simpson's rule.
    """
    now = Moment(0.0, np.full(bed.parts.shape, bed.start), np.zeros(bed.parts.shape), 0.0)
    early = speed(kinetics, now.temperature)
    yield now
    for stride in strides:
        half, middle, end = (
            (stride.end - stride.begin) / 2,
            stride.middle[box.inside],
            stride.last[box.inside],
        )
        amid, late = speed(kinetics, middle), speed(kinetics, end)
        seen = now.equivalent + np.maximum(half / 12 * (5 * early + 8 * amid - late), 0.0)
        yield Moment(stride.begin + half, middle, seen, now.heat + stride.heats[0])
        seen = now.equivalent + half / 3 * (early + 4 * amid + late)
        now = Moment(stride.end, end, seen, now.heat + sum(stride.heats))
        early = late
        yield now


def _line(moment: Moment, pieces: Places, spots: list[Voxel]) -> tuple[float, ...]:
    """What is kept of a moment: time, extremes over the pieces, then the spots."""
    warm, seen = moment.temperature.ravel()[pieces], moment.equivalent.ravel()[pieces]
    at = [moment.temperature[spot] for spot in spots] + [moment.equivalent[spot] for spot in spots]
    warmest = moment.temperature.max()
    return (moment.time, warm.min(), warm.max(), warmest, seen.min(), seen.max(), *at)


def _ends(moment: Moment, pieces: Places) -> tuple[Voxel, Voxel]:
    """The voxels of pieces that have cured least and most."""
    seen, shape = moment.equivalent.ravel()[pieces], moment.equivalent.shape
    least, most = (
        tuple(int(i) for i in np.unravel_index(pieces[n], shape)) for n in (seen.argmin(), seen.argmax())
    )
    return (least[0], least[1], least[2]), (most[0], most[1], most[2])


def _run(lines: list[tuple[float, ...]], end: Moment, ends: tuple[Voxel, Voxel], needed: float) -> BoxRun:
    times, coldest, hottest, warmest, least, most, *rest = np.array(lines).T
    spots = len(rest) // 2
    cured_after = reached(times, least, needed)
    return BoxRun(
        times=times,
        coldest=coldest,
        hottest=hottest,
        warmest=warmest,
        least=least,
        most=most,
        at=np.array(rest[:spots]),
        seen=np.array(rest[spots:]),
        cured_after=cured_after,
        last=ends[0],
        corner=ends[1],
        corner_equivalent=float(PchipInterpolator(times, most)(min(cured_after, times[-1]))),
        temperature=end.temperature,
        equivalent=end.equivalent,
        heat=end.heat,
    )


def _check(bed: HeatedBed, programme: Programme) -> None:
    times, temperatures = programme
    if len(times) != len(temperatures) or not times or times[-1] <= 0:
        raise LawError(
            f"a programme needs as many times as temperatures and must end after 0 s, got {programme}"
        )
    if any(late <= early for early, late in pairwise(times)):
        raise LawError(f"the times of a programme must rise, got {times} s")
    if not min(*temperatures, bed.start) > 0:
        raise LawError("temperatures must be above 0 K; check the programme and the start")
    if not bed.parts.max(initial=0.0) > 0:
        raise LawError(
            "no voxel holds a piece; give the share that is printed, or 1 everywhere for a bare bed"
        )
