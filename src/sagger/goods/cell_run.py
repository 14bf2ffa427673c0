"""A plan of the cell that is made in the background."""

from __future__ import annotations

from sagger.goods.good import good


@good
class AskedCellRun:
    """What somebody asked to be planned."""

    person: str
    note: str
    at: str  # ISO local time to plan from; "" = this minute
    better: bool  # with the constraint solver


@good
class CellRun:
    """How far it is, or what it came to."""

    asked: AskedCellRun
    began: str  # ISO local time
    state: str = "running"  # running, done, failed, cancelled, interrupted
    doing: str = ""
    done: int = 0
    total: int = 0  # 0 = unknown
    improving: bool = False  # it has a plan and looks for a better one
    message: str = ""  # why it failed, or what could not stay
    entry: int = 0  # of the plan that was accepted
