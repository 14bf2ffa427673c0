"""A whole job as the line leaves it."""

from __future__ import annotations

from sagger.goods.bed import Bed
from sagger.goods.cell import Cell
from sagger.goods.cured import Cured
from sagger.goods.depowdering import Depowdering
from sagger.goods.dose import Dose
from sagger.goods.factors import Carried, Factors
from sagger.goods.finding import Finding
from sagger.goods.good import Key, good
from sagger.goods.green import Green
from sagger.goods.layout import Layout
from sagger.goods.mould import Mould
from sagger.goods.order import Order
from sagger.goods.part import Part
from sagger.goods.promised import Promised
from sagger.goods.quote import Quote
from sagger.goods.sintered import Sintered
from sagger.goods.stack import Stack, Tally
from sagger.goods.timetable import Timetable


@good
class Build:
    """One box, from nest to oven."""

    layout: Layout
    stack: Stack
    tally: Tally
    noticed: tuple[Finding, ...]  # about the layers as drawn
    dose: Dose
    timetable: Timetable
    cured: Cured
    depowdering: Depowdering


@good
class Job:
    order: Order
    cell: Cell  # its powder with the figures of the lot, if there is one
    bed: Bed
    parts: tuple[Part, ...]
    factors: Factors
    builds: tuple[Build, ...]
    sintered: Sintered | None  # None for sand
    promised: Promised
    quote: Quote
    mould: Mould | None = None  # sand only
    carried: Carried | None = None  # approved factors under this job's conditions; None: of the card


@good
class JobSoFar:
    """What a job that may still run has come to, each under its key in the ledger."""

    parts: tuple[Key[Part], ...]
    bed: Key[Bed] | None
    bent: tuple[Key[Green], ...]  # parts that were followed through the furnace
    nested: bool
    layouts: tuple[
        Key[Layout], ...
    ]  # from here on by box, in order; each row may be shorter than the one before
    stacks: tuple[Key[Stack], ...]
    doses: tuple[Key[Dose], ...]
    cured: tuple[Key[Cured], ...]
