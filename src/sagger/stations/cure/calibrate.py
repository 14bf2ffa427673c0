"""What one thermocouple run says of the powder in the box."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.box import Box
from sagger.goods.oven import Oven
from sagger.goods.ovenrun import FittedBed, OvenRun, RunPlace
from sagger.goods.powder import Powder
from sagger.physics.heat.bed_fit import Probe, fit, history, moved, straight, thinned
from sagger.physics.heat.box_heat import Programme
from sagger.physics.heat.box_heat_grid import Face, HeatedBed, Material
from sagger.stations.cure import filling
from sagger.statistics import chance
from sagger.tick import Tick, silent

LONGEST = 41  # voxels along the longest side
OVEN_OFF = 1.0  # the oven's history is taken as straight stretches within this [K]


class OvenSetting(NamedTuple):
    """One box as read, but for the conductivity."""

    widths: tuple[ndarray, ndarray, ndarray]
    heat: float  # [J/(m3 K)]
    faces: tuple[Face, ...]
    programme: Programme
    probe: Probe


def calibrate(
    run: OvenRun, place: RunPlace, powder: Powder, box: Box, oven: Oven, *, tick: Tick = silent
) -> FittedBed:
    """The bed's conductivity that a run of loose powder tells.

    Parameters
    ----------
    run : OvenRun
        Readings in the oven's air and in the powder; the box is as warm throughout as the first one says.
    place : RunPlace
    powder, box, oven
        The cards: heat capacity, walls and base plate, heat transfer.

    Returns
    -------
    FittedBed

    Raises
    ------
    LawError
        If the reading says nothing, or its place lies outside the bed.

    Source
    ------
    JCGM 100:2008, 5.1.2, by one Gauss-Newton step for each input. The reading's own error is taken as one
    shift of all its values, the larger of the thermocouple's uncertainty and the misfit.
    """
    setting = _setting(run, place, powder, box, oven)
    fitted = fit(
        lambda value: _model(setting, value),
        setting.probe.temperature,
        powder.bed_conductivity.value,
        tick=tick,
    )
    steps = [
        (name, moved(fitted, _model(other, fitted.conductivity) - fitted.modelled))
        for name, other in _others(setting, place, powder, oven)
    ]
    steps.append(("reading", moved(fitted, max(place.reading_u, fitted.misfit))))
    return FittedBed(
        conductivity=fitted.conductivity,
        u=chance.combined([step for _, step in steps]),
        shares=chance.named_shares(steps),
        misfit=fitted.misfit,
        time=setting.probe.times,
        read=setting.probe.temperature,
        modelled=fitted.modelled,
    )


def _setting(run: OvenRun, place: RunPlace, powder: Powder, box: Box, oven: Oven) -> OvenSetting:
    size = (box.length_x.value, box.length_y.value, place.height_mm * 1e-3)
    times, read = thinned(run.time, run.core)
    at = (place.at_mm[0] * 1e-3, place.at_mm[1] * 1e-3, place.at_mm[2] * 1e-3)
    return OvenSetting(
        widths=filling.widths(size, LONGEST),
        heat=place.packing * powder.solid_density.value * powder.heat_capacity.value,
        faces=filling.faces(box, oven),
        programme=straight(run.time, run.oven, OVEN_OFF),
        probe=Probe(at, times, read),
    )


def _model(setting: OvenSetting, conductivity: float) -> ndarray:
    material = Material(conductivity, setting.heat)
    whole = np.ones(tuple(len(along) for along in setting.widths))
    bed = HeatedBed(whole, setting.widths, material, material, float(setting.probe.temperature[0]))
    return history(bed, setting.faces, setting.programme, setting.probe)


def _others(
    setting: OvenSetting, place: RunPlace, powder: Powder, oven: Oven
) -> Iterator[tuple[str, OvenSetting]]:
    """The setting with one input moved by its uncertainty, for each input that has one."""
    heat = powder.heat_capacity
    for name, relative in (
        ("packing", place.packing_u / place.packing),
        ("heat capacity", heat.u / heat.value),
    ):
        if relative:
            yield name, setting._replace(heat=setting.heat * (1 + relative))
    film = oven.heat_transfer.u / oven.heat_transfer.value
    if film:
        faces = tuple(face._replace(film=face.film * (1 + film)) for face in setting.faces)
        yield "heat transfer", setting._replace(faces=faces)
    yield "place", setting._replace(probe=_aside(setting, place.place_u_mm * 1e-3))


def _aside(setting: OvenSetting, far: float) -> Probe:
    """The probe nearer to the nearest wall by `far` [m], or on it."""
    at, sizes = list(setting.probe.place), [float(along.sum()) for along in setting.widths]
    rooms = [(min(here, size - here), axis) for axis, (here, size) in enumerate(zip(at, sizes, strict=True))]
    room, axis = min(rooms)
    outward = -1.0 if at[axis] <= sizes[axis] / 2 else 1.0
    at[axis] += outward * min(far, room)
    return setting.probe._replace(place=(at[0], at[1], at[2]))
