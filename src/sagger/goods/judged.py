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
    inside: float = 0.0  # chance that the true size lies inside its limits, nothing but the reading known


@good
class Alarm:
    place: int  # index into the characteristic's deviations
    rule: str
    every: float  # points between two such alarms of a process in which nothing happens


@good
class Size:
    """What was measured: one quantity of one part."""

    kind: str  # "length", "density", ... as of a reading
    state: str
    part: str  # coupons count as one part, whatever their label
    axis: str
    feature: str
    nominal_mm: float  # 0 = none; of an angle in degrees
    scale: str = ""  # of a hardness; unit of a line of the drawing

    @property
    def finished(self) -> bool:
        """Whether it is a size that a tolerance can be asked of."""
        return (self.kind, self.state) == ("length", "sintered") and self.nominal_mm > 0


@good
class Control:
    """Control charts of one quantity over all pieces that were measured, in the order of the ledger."""

    unit: str  # of every value
    off_nominal: bool  # the values are deviations from nominal
    readings: tuple[int, ...]  # numbers in the ledger, one for each value
    boxes: tuple[str, ...]
    pieces: tuple[str, ...]  # box and label
    values: tuple[float, ...]
    mean: float
    sd: float
    lower: float  # limits of the chart of single values
    upper: float
    chart_sd: float
    range_mean: float  # mean difference between neighbours
    range_upper: float  # limit of the chart of moving ranges
    weighted: tuple[float, ...]  # exponentially weighted means
    weighted_half: float
    sums: tuple[tuple[float, float], ...]  # upper and lower cumulative sums, in standard deviations
    alarms: tuple[Alarm, ...]
    points_per_false_alarm: float  # of the single values chart with its rules
    points_to_see_one_sd: float  # by weighted means, after a shift of one standard deviation


@good
class Characteristic:
    """One size of one part against its tolerance."""

    size: Size
    half_mm: float
    charts: Control
    index: float | None  # capability to the nearer limit; None below 25 pieces
    index_low: float  # 95 % interval
    index_high: float
    index_least: float  # one-sided 95 % lower bound
    width: float | None  # capability were the mean on nominal; None below 25 pieces
    width_low: float  # 95 % interval
    width_high: float
    outside: float  # share of pieces outside the tolerance were the mean on nominal
    about_nominal: float | None  # capability about nominal, mean and scatter in one; None below 25 pieces
    holds_mm: tuple[float, float]  # deviations between which 95 % of pieces lie with 95 % confidence
    grade: str  # finest standard grade as wide as that, "IT13"; "" where the table has none


@good
class ComparedLine:
    """One reading of a line of the drawing against its limits; all values in the line's unit."""

    reading: int  # number in the ledger
    box: str
    piece: str
    part: str
    number: str  # its balloon, "7.2"
    what: str
    unit: str  # "mm" or "deg"
    nominal: float | None  # None for form and place
    lower: float | None  # None for form and place
    upper: float
    value: float
    u: float  # standard uncertainty, the shared part included
    said: str  # "conforms", "undecided", "does not conform"
    inside: float  # chance that the true value lies inside its limits, nothing but the reading known


@good
class MeasuredLine:
    """What the readings of one feature of a line say together, in the line's unit."""

    part: str
    number: str
    what: str
    unit: str
    nominal: float | None
    lower: float | None
    upper: float
    pieces: int
    readings: int
    least: float
    mean: float  # of the pieces, each the mean of its readings
    greatest: float
    conform: int  # readings
    undecided: int
    outside: int
    charts: Control | None  # None below three pieces, or where all read the same
    index: float | None  # capability to the nearer limit; None below 25 pieces
    index_low: float | None  # 95 % interval; None without charts
    index_high: float | None
    index_least: float | None  # one-sided 95 % lower bound


@good
class JudgedLines:
    compared: tuple[ComparedLine, ...]
    lines: tuple[MeasuredLine, ...]  # by part and number
    left_out: tuple[str, ...]  # readings that could not be judged, and why


@good
class Judged:
    compared: tuple[Compared, ...]
    characteristics: tuple[Characteristic, ...]
    left_out: tuple[str, ...]  # readings that could not be judged, and why
