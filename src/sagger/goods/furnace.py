"""A sintering furnace with its trays, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure, optional_figure
from sagger.goods.good import good


@good
class Furnace:
    name: str
    title: str
    atmospheres: tuple[str, ...]
    tray_x: Figure = figure("length")
    tray_y: Figure = figure("length")
    tray_edge: Figure = figure("length")  # left free along the rim
    shelf_height: Figure = figure("length")  # free height above a setter
    shelves: Figure = figure("count")
    part_gap: Figure = figure("length")  # between pieces on a setter
    temperature: Figure = figure("temperature")  # highest
    rate_most: Figure = figure("heating_rate")
    uniformity: Figure = figure("temperature")  # half width of the soak's scatter, a difference
    cool_rate: Figure = figure("heating_rate")
    friction: Figure = figure("pure")  # of a part on its setter
    rate: Figure = figure("price_per_time")
    run_price: Figure = figure("money")  # gas and energy per run
    shelf_pitch: Figure | None = optional_figure("length")  # from one setter's top to the next one's
    tray_load: Figure | None = optional_figure("mass")  # a setter may carry
    # How it cools by itself: its time constant, and the hottest load at which it is opened; None: `cool_rate`
    # all the way to room temperature.
    cool_time: Figure | None = optional_figure("time")
    open_temperature: Figure | None = optional_figure("temperature")
    repeat: Figure | None = optional_figure("temperature")  # standard deviation of a run's peak, a difference
