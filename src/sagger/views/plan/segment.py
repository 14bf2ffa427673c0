"""A stretch of a furnace programme as plan.json shows it."""

from __future__ import annotations

from sagger.goods.powder import Segment
from sagger.views.plan.asked import Leaf, says
from sagger.views.plan.fill_asked import said


class SegmentOut(Leaf):
    """One stretch of the furnace programme."""

    stage: str = says("debinding or sintering")
    rate_K_per_min: float
    target_degC: float
    hold_min: float
    atmosphere: str


def segment_out(segment: Segment) -> SegmentOut:
    """One stretch."""
    return SegmentOut(
        stage=segment.stage,
        rate_K_per_min=said(segment.rate, "K/min"),
        target_degC=said(segment.target, "degC"),
        hold_min=said(segment.hold, "min"),
        atmosphere=segment.atmosphere,
    )
