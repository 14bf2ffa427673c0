"""What readings say against what was asked."""

from __future__ import annotations

from sagger.goods.good import good


@good
class Compared:
    """One reading against its tolerance."""

    reading: int  # number in the ledger
    box: str
    piece: str
    axis: str
    feature: str
    nominal_mm: float
    half_mm: float  # ± allowed
    deviation_mm: float  # reading less nominal
    u_mm: float  # standard uncertainty, the shared part included
    said: str  # "conforms", "undecided", "does not conform"


@good
class Alarm:
    place: int  # index into the characteristic's deviations
    rule: str
    every: float  # points between two such alarms of a process in which nothing happens


@good
class Characteristic:
    """One size of one part, over all pieces that were measured, in the order in which they were."""

    part: str
    axis: str
    feature: str
    nominal_mm: float
    half_mm: float
    readings: tuple[int, ...]  # numbers in the ledger, one for each deviation
    boxes: tuple[str, ...]
    pieces: tuple[str, ...]  # box and label
    deviations_mm: tuple[float, ...]
    mean_mm: float
    sd_mm: float
    index: float | None  # capability to the nearer limit; None below 25 pieces
    index_low: float  # 95 % interval
    index_high: float
    index_least: float  # one-sided 95 % lower bound
    holds_mm: tuple[float, float]  # deviations between which 95 % of pieces lie with 95 % confidence
    lower_mm: float  # limits of the chart of single values
    upper_mm: float
    chart_sd_mm: float
    range_mm: float  # mean difference between neighbours
    range_upper_mm: float  # limit of the chart of moving ranges
    weighted_mm: tuple[float, ...]  # exponentially weighted means
    weighted_half_mm: float
    sums: tuple[tuple[float, float], ...]  # upper and lower cumulative sums, in standard deviations
    alarms: tuple[Alarm, ...]
    points_per_false_alarm: float  # of the single values chart with its rules
    points_to_see_one_sd: float  # by weighted means, after a shift of one standard deviation


@good
class Size:
    """What was measured: one size of one part."""

    part: str
    axis: str
    feature: str
    nominal_mm: float


@good
class Judged:
    compared: tuple[Compared, ...]
    characteristics: tuple[Characteristic, ...]
    left_out: tuple[str, ...]  # readings that could not be judged, and why
