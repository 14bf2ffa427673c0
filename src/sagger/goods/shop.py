"""A shop's own rates, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure, optional_figure
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
    inspect_time: Figure = figure("time")  # per piece: look, label, book
    yield_print: Figure = figure("pure")
    yield_depowder: Figure = figure("pure")
    yield_sinter: Figure = figure("pure")
    yield_inspect: Figure = figure("pure")
    working_hours: Figure = figure("time")  # attended, per working day
    # What inspection reads beside; None: not counted.
    inspect_size_time: Figure | None = optional_figure("time")  # per size read
    inspect_density_time: Figure | None = optional_figure("time")  # per density by Archimedes' method
    offer_time: Figure | None = optional_figure("time")  # that an offer holds
    inspect_density_pieces: Figure | None = optional_figure("count")  # whose density is read, of each part
    margin: Figure | None = optional_figure("pure")  # on all lines; None: none
    least_order: Figure | None = optional_figure("money")  # no order is cheaper; None: any may be
    gauge: Figure | None = optional_figure("length")  # standard uncertainty of a reading at the bench
    chip: Figure | None = optional_figure("length")  # least depth of a cut after sintering; None: any
    # Relative standard deviation of hours about those planned; None: as planned.
    machine_scatter: Figure | None = optional_figure("pure")
    hands_scatter: Figure | None = optional_figure("pure")
