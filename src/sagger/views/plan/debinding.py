"""What plan.json holds about debinding."""

from __future__ import annotations

from sagger.goods.debinding import Course, Debinding
from sagger.views.plan.asked import Leaf, says
from sagger.views.plan.fill_asked import said
from sagger.views.plan.segment import SegmentOut, segment_out


class CourseOut(Leaf):
    """One way through debinding, at the thickest wall."""

    time_h: float = says("from room temperature to the end of the debinding stage")
    overpressure_kPa: float = says("highest, in the middle of the wall")
    hottest_degC: float = says("temperature at which it is highest")
    burnout_percent_per_min: float = says("highest rate at which the share gone grows")
    gone_percent: float = says("of the binder, at the end of the stage")


class RateLimitOut(Leaf):
    """Heating rate at which a wall of this fineness just reaches the pressure allowed."""

    wall_mm: float = says("at green size")
    d50_um: float
    rate_K_per_min: float


class DebindingOut(Leaf):
    """How the binder leaves the thickest wall."""

    part: int = says("index into `parts`: whose wall it is")
    wall_mm: float = says("thickest, at green size")
    binder_percent: float = says("mass of binder over mass of powder")
    allowed_kPa: float = says("overpressure")
    planned: CourseOut = says("by the programme")
    planned_overpressure_u_kPa: float = says("standard uncertainty")
    wall_most_mm: float = says("thickest wall that the programme bears")
    rate_limit_K_per_min: float = says("steady heating through burnout at the pressure allowed")
    rate_limit_u_K_per_min: float = says("standard uncertainty")
    limits: list[RateLimitOut] = says("by thickness and by fineness")
    lag_K: float = says("of the wall's middle behind its faces at the stage's fastest heating")
    proposal: list[SegmentOut] = says("debinding stage to try; empty if none is worth it")
    proposed: CourseOut | None = says("what it would do; null if there is none")
    bounds: str = says("what the proposal keeps to")
    standing: str = says("of the weakest figure that the pressure rests on")


def debinding_out(found: Debinding) -> DebindingOut:
    """How the binder leaves the thickest wall."""
    return DebindingOut(
        part=found.part,
        wall_mm=said(found.wall, "mm"),
        binder_percent=said(found.binder, "%"),
        allowed_kPa=said(found.allowed, "kPa"),
        planned=_course(found.planned),
        planned_overpressure_u_kPa=said(found.planned_u, "kPa"),
        wall_most_mm=said(found.wall_most, "mm"),
        rate_limit_K_per_min=said(found.rate_limit, "K/min"),
        rate_limit_u_K_per_min=said(found.rate_limit_u, "K/min"),
        limits=[
            RateLimitOut(
                wall_mm=said(each.wall, "mm"),
                d50_um=said(each.grain, "um"),
                rate_K_per_min=said(each.rate, "K/min"),
            )
            for each in found.limits
        ],
        lag_K=said(found.lag),
        proposal=[segment_out(each) for each in found.proposal],
        proposed=_course(found.proposed) if found.proposed else None,
        bounds=found.bounds,
        standing=found.standing,
    )


def _course(course: Course) -> CourseOut:
    return CourseOut(
        time_h=said(course.time, "h"),
        overpressure_kPa=said(course.overpressure, "kPa"),
        hottest_degC=said(course.hottest, "degC"),
        burnout_percent_per_min=said(course.loss * 6000),
        gone_percent=said(course.gone, "%"),
    )
