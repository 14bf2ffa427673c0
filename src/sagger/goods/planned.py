"""A plan as it is read again: what pages, comparisons and bookings need of plan.json, by its keys.

Lengths, temperatures and shares are in the units that the keys name; null is None.
"""

from __future__ import annotations

from collections.abc import Mapping

from sagger.goods.booked import PlannedFactors
from sagger.goods.good import good
from sagger.goods.planned_part import PlanPart
from sagger.goods.planned_quote import PlanPromised, PlanQuote

Row = tuple[float, ...]


@good
class PlanOrder:
    name: str
    shop: str = ""
    start: str = ""
    customer: str = ""
    reference: str = ""
    valid: str = ""  # ISO date until which an offer holds


@good
class PlanCard:
    kind: str
    name: str
    title: str = ""


@good
class WeakFigure:
    """A figure from memory or assumed on one of the cards."""

    card: str
    standing: str


@good
class PlanFinding:
    """What a step noticed."""

    level: str  # ok, look, stop
    what: str
    text: str
    remedy: str
    source: str = ""
    station: str = ""
    part: int | None = None


@good
class RefusedPlan:
    """The plan of an order that intake stopped."""

    state: str = "refused"
    parts: tuple[PlanPart, ...]
    findings: tuple[PlanFinding, ...]


@good
class PlanBed:
    lot: str
    basis: str
    packing_percent: float
    packing_u_percent: float
    green_density_percent: float
    green_density_u_percent: float
    solid_density_g_per_cm3: float = 0.0  # 0 in plans of earlier editions


@good
class PlanTreatment:
    """How drops were set at the surface of one part."""

    bleed_um: float
    depth_um: float
    skin_mm: float | None
    skin_saturation_percent: float
    core_saturation_percent: float


@good
class PlanLayers:
    count: int
    thickness_um: float
    pitch_um: Row
    columns: int
    rows: int
    bits: int
    missed_rows: tuple[int, ...]
    treatments: tuple[PlanTreatment, ...]


@good
class PlanDrops:
    count: int
    volume_pL: float
    saturation_asked_percent: float
    saturation_percent: float


@good
class PlanBinder:
    volume_mL: float


@good
class PlanPowder:
    fed_kg: float
    lost_kg: float


@good
class PlanTimes:
    layer_s: float
    build_h: float


@good
class CureCourse:
    """Temperature and degree of cure over time."""

    time_h: Row
    oven_degC: Row
    core_degC: Row
    corner_degC: Row
    core_cure_percent: Row
    corner_cure_percent: Row


@good
class PlanCure:
    """One box in the oven."""

    oven_temperature_degC: float
    core_temperature_degC: float
    degree_percent: float
    time_to_temperature_h: float
    time_to_cure_h: float
    corner_equivalent_h: float
    corner_most_h: float
    hold_h: float
    hold_u_h: float
    cool_h: float
    programme: tuple[Row, ...]  # corners: hour, °C
    course: CureCourse


@good
class PlanDepowdering:
    hands_on_h: float
    cake_kg: float
    lost_kg: float


@good
class PlanBox:
    """One box, from nest to clean green parts."""

    number: int
    size_mm: Row
    pieces: int
    height_mm: float
    least_gap_mm: float | None
    density_percent: float
    layers: PlanLayers
    drops: PlanDrops
    binder: PlanBinder
    powder: PlanPowder
    times: PlanTimes
    cure: PlanCure
    depowder: PlanDepowdering


@good
class PlanPiece:
    """Where a piece lies."""

    part: int
    name: str
    number: int
    box: int
    placement: tuple[Row, ...]


@good
class PlanStretch:
    """A stretch of a furnace programme."""

    stage: str
    rate_K_per_min: float
    target_degC: float
    hold_min: float
    atmosphere: str


@good
class FiringCurve:
    """Furnace and pieces over time."""

    time_h: Row
    temperature_degC: Row
    relative_density_percent: Row
    burnout_percent: Row


@good
class PlanLoad:
    trays: int
    runs: int


@good
class PlanDebinding:
    lag_K: float


@good
class PlanFiring:
    """The furnace run of an order."""

    programme: tuple[PlanStretch, ...]
    load: PlanLoad
    peak_degC: float
    final_relative_density_percent: float
    final_relative_density_u_percent: float
    final_relative_density_low_percent: float | None = None  # None in plans of earlier editions
    final_relative_density_high_percent: float | None = None
    ratio: Row
    ratio_u: Row
    run_h: float
    curve: FiringCurve
    debinding: PlanDebinding | None


@good
class PlanMould:
    """What a sand mould is worth."""

    fineness_AFS: float
    permeability_AFS: float
    permeability_AFS_u: float
    resin_percent: float
    loss_on_ignition_percent: float
    loss_on_ignition_u_percent: float


@good
class WholePlan:
    """The plan of a whole job."""

    state: str = "planned"
    edition: str
    order: PlanOrder
    cards: tuple[PlanCard, ...]
    parts: tuple[PlanPart, ...]
    bed: PlanBed
    factors: PlannedFactors
    pieces: tuple[PlanPiece, ...]
    layers: PlanLayers  # of the first box, as are drops, times and cure
    drops: PlanDrops
    times: PlanTimes
    cure: PlanCure
    boxes: tuple[PlanBox, ...]
    sinter: PlanFiring | None  # None for sand
    mould: PlanMould | None  # sand only
    promise: PlanPromised | None = None  # None in plans of earlier editions
    quote: PlanQuote
    findings: tuple[PlanFinding, ...]
    weak_figures: tuple[WeakFigure, ...]
    sources: Mapping[str, str]


Plan = WholePlan | RefusedPlan
