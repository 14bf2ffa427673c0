"""What plan.json holds about furnace, price, date and promise."""

from __future__ import annotations

from typing import Literal

from sagger.views.plan.asked import Leaf, Triple, says
from sagger.views.plan.debinding import DebindingOut
from sagger.views.plan.segment import SegmentOut


class TrayFitOut(Leaf):
    """How one part stands on trays, at green size; it shrinks within its own outline."""

    part: int = says("index into `parts`")
    quantity: int
    footprint_mm: tuple[float, float]
    height_mm: float
    mass_kg: float = says("of one green piece, binder included")
    per_tray: int = says("if it had trays of its own")
    trays: int = says("on which it stands, shared or not")


class TrayPieceOut(Leaf):
    """Pieces of one part on a tray."""

    part: int = says("index into `parts`")
    pieces: int


class TrayOut(Leaf):
    """What stands on one setter."""

    run: int = says("furnace run, from 1")
    shelves: int = says("taken: more than one where a piece reaches into the next")
    mass_kg: float
    pieces: list[TrayPieceOut]


class LoadOut(Leaf):
    """How the pieces share furnace runs."""

    fits: list[TrayFitOut]
    trays: int
    trays_per_run: int
    runs: int
    fill_percent: float = says("shelves used over shelves offered")
    each: list[TrayOut]


class CurveOut(Leaf):
    """The furnace run as predicted; four lists of one length."""

    time_h: list[float]
    temperature_degC: list[float]
    relative_density_percent: list[float]
    burnout_percent: list[float]


class PlaceOut(Leaf):
    """A place in the furnace that is colder or hotter than the programme says."""

    name: Literal["coldest", "hottest"]
    warmer_K: float
    relative_density_percent: float
    ratio: Triple = says("finished over green length there")


class ProposalOut(Leaf):
    """The quickest programme that gives the card's density by the law; to be tried, not planned."""

    programme: list[SegmentOut]
    run_h: float
    relative_density_percent: float
    bounds: str = says("what it was searched within")


class SinterOut(Leaf):
    """What the furnace will give."""

    programme: list[SegmentOut]
    load: LoadOut
    peak_degC: float
    final_relative_density_percent: float
    final_relative_density_u_percent: float = says("standard uncertainty")
    final_grain_um: float | None = says("null where the powder card has no grain growth")
    ratio: Triple = says("finished over green length along machine x, y, z")
    ratio_u: Triple = says("standard uncertainty")
    ratio_u_furnace: Triple = says("the part of ratio_u that is a piece's place in the furnace")
    places: list[PlaceOut] = says("what the furnace's non-uniformity does; empty if it has none")
    run_h: float = says("heating, holds and cooling")
    curve: CurveOut
    proposal: ProposalOut | None = says("null if no programme within bounds is much quicker")
    debinding: DebindingOut | None = says("null if no binder has to leave")


class LineOut(Leaf):
    """One line of the calculation, for the whole order."""

    name: str
    amount: float = says("in the quote's currency")
    basis: str


class PriceOut(Leaf):
    """What one good piece costs."""

    part: int = says("index into `parts`")
    good_pieces: int
    price_per_piece: float = says("in the quote's currency")


class ShareOut(Leaf):
    """One contribution to a variance."""

    name: str
    percent: float


class ChanceOut(Leaf):
    """A chance if one source of scatter were gone."""

    name: str
    chance_percent: float


class PromiseOut(Leaf):
    """One dimension: what is asked, and the chance that it is met."""

    part: int = says("index into `parts`")
    dimension: Literal["x", "y", "z"] = says("overall size along a machine axis, unturned")
    nominal_mm: float
    lower_mm: float
    upper_mm: float
    u_mm: float = says("standard uncertainty of the finished size")
    chance_percent: float
    shares: list[ShareOut]
    without: list[ChanceOut] = says("chance if one source were gone, or the mean on nominal; best first")


class StepOut(Leaf):
    """One step of the route on the calendar."""

    name: str
    duration_h: float
    starts: str = says("ISO date and time")
    ends: str = says("ISO date and time")


class QuoteOut(Leaf):
    """Price, date and promise."""

    currency: str
    total: float = says("in `currency`, for the whole order")
    lines: list[LineOut]
    yield_percent: float
    prices: list[PriceOut]
    promises: list[PromiseOut]
    steps: list[StepOut]
    ready: str = says("ISO date and time")
