"""Measured runs, and what would have been foretold of them."""

from __future__ import annotations

from sagger.goods.good import good, holds


@good
class Given:
    """A condition of a run as its source tells it."""

    value: float  # in the unit of the table's column
    u: float = 0.0  # 0 if none is told
    assumed: bool = False  # not in the source: taken by who wrote the table


@good
class MeasuredRun:
    """One measured value, and under which conditions it came about."""

    key: str = holds("name of the run")
    source: str = holds("where it is printed")
    standing: str = holds("read or from memory")
    quantity: str = holds("what was measured")
    unit: str = holds("of the value; - for shares")
    measured: float = holds("the value")
    measured_u: float = holds("its standard uncertainty")
    card: str = holds("powder card; empty if none is named")
    numbers: dict[str, Given]  # by column, none where the card stands for it
    words: dict[str, str]  # by column: atmosphere, gas
    independent: bool = holds("False if a card was set by it")
    holdout: bool = holds("True if the doubt of the model was set without it")
    note: str = holds("what else is known")


@good
class ForetoldRun:
    """A measured run beside what would have been foretold."""

    run: MeasuredRun
    foretold: float | None = holds("None if the program cannot")
    u: float | None = holds("standard uncertainty of the forecast; None if it states none")
    low: float | None = holds("end of the 95 % interval in which a measurement should lie, with its own u")
    high: float | None = holds("the other end")
    z: float | None = holds("measured less foretold, over both uncertainties")
    why: str = holds("why it is not foretold, or what was assumed")

    @property
    def inside(self) -> bool | None:
        """Whether the measured value lies in the interval; None without one."""
        if self.low is None or self.high is None:
            return None
        return self.low <= self.run.measured <= self.high

    @property
    def error(self) -> float | None:
        """Measured over foretold, less 1; None if it is not foretold."""
        return None if not self.foretold else self.run.measured / self.foretold - 1


@good
class Share:
    """How many of a number of intervals held what was measured."""

    name: str = holds("of which runs")
    foretold: int = holds("runs with an interval")
    inside: int = holds("of them inside 95 %")
    share: float | None = holds("the share; None of none")
    share_low: float | None = holds("95 % bounds of the share, Clopper and Pearson")
    share_high: float | None = holds("the other bound")
    median_error: float | None = holds("median of measured over foretold less 1, without sign")
    median_width: float | None = holds("median width of the intervals over the forecast")


@good
class Score:
    """What was foretold held against what was measured."""

    runs: tuple[ForetoldRun, ...]
    whole: Share
    by_quantity: tuple[Share, ...]
    unseen: Share  # independent runs that the doubt of the model was not set by
