"""One box in the oven as plan.json shows it."""

from __future__ import annotations

import numpy as np

from sagger.goods.cured import Course, Cured, Shorter, Spot
from sagger.units import into
from sagger.views.plan.box import CourseOut, CureOut, ShorterOut, SpotOut
from sagger.views.plan.fill_asked import all_said, said

POINTS = 100  # of a history

Corners = tuple[tuple[float, float], ...]


def cure_out(cured: Cured) -> CureOut:
    """Programme, times, places and histories."""
    return CureOut(
        oven_temperature_degC=said(cured.oven_temperature, "degC"),
        core_temperature_degC=said(cured.core_temperature, "degC"),
        degree_percent=said(cured.degree, "%"),
        time_to_temperature_h=said(cured.time_to_temperature, "h"),
        time_to_cure_h=said(cured.time_to_cure, "h"),
        corner_equivalent_h=said(cured.corner_equivalent, "h"),
        corner_most_h=said(cured.corner_most, "h"),
        hold_h=said(cured.hold, "h"),
        hold_u_h=said(cured.hold_u, "h"),
        hold_shares_percent={name: said(share, "%") for name, share in cured.shares},
        cool_h=said(cured.cool, "h"),
        final_cure_percent=said(cured.final_degree, "%"),
        programme=_programme(cured.programme),
        last_piece=_spot(cured.last),
        hottest_piece=_spot(cured.hottest),
        shorter=_shorter(cured.shorter),
        bed_conductivity_W_per_mK=said(cured.bed.conductivity),
        bed_conductivity_u_W_per_mK=said(cured.bed.conductivity_u),
        bed_conductivity_from=cured.bed.origin,
        piece_conductivity_W_per_mK=said(cured.bed.piece_conductivity),
        voxels=cured.bed.voxels,
        course=_course(cured.course),
    )


def _programme(corners: Corners) -> list[tuple[float, float]]:
    return [(said(time, "h"), said(kelvin, "degC")) for time, kelvin in corners]


def _spot(spot: Spot | None) -> SpotOut | None:
    if spot is None:
        return None
    return SpotOut(part=spot.part, number=spot.number, at_mm=all_said(spot.at_mm))


def _shorter(found: Shorter | None) -> ShorterOut | None:
    if found is None:
        return None
    return ShorterOut(
        programme=_programme(found.programme),
        time_to_cure_h=said(found.time_to_cure, "h"),
        corner_equivalent_h=said(found.corner_equivalent, "h"),
        saved_h=said(found.saved, "h"),
    )


def _course(course: Course) -> CourseOut:
    """The histories at evenly spaced moments."""
    time = np.linspace(course.time[0], course.time[-1], POINTS)

    def told(history: np.ndarray, unit: str) -> list[float]:
        return [round(into(float(value), unit), 3) for value in np.interp(time, course.time, history)]

    return CourseOut(
        time_h=told(course.time, "h"),
        oven_degC=told(course.oven, "degC"),
        core_degC=told(course.core, "degC"),
        corner_degC=told(course.corner, "degC"),
        core_cure_percent=told(course.core_degree, "%"),
        corner_cure_percent=told(course.corner_degree, "%"),
    )
