"""A shop's own rates, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure
from sagger.goods.good import good


@good
class Shop:
    name: str
    title: str
    currency: str
    labour: Figure = figure("price_per_time")
    overhead: Figure = figure("pure")  # on all but material
    binder_flush: Figure = figure("pure")  # binder bought beyond binder printed
    cure_labour: Figure = figure("time")  # hands-on, per box
    furnace_labour: Figure = figure("time")  # hands-on, per run
    inspect_time: Figure = figure("time")  # per piece
    yield_print: Figure = figure("pure")
    yield_depowder: Figure = figure("pure")
    yield_sinter: Figure = figure("pure")
    yield_inspect: Figure = figure("pure")
    working_hours: Figure = figure("time")  # attended, per working day
