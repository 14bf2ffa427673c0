"""A curing oven, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure
from sagger.goods.good import good


@good
class Oven:
    name: str
    title: str
    length_x: Figure = figure("length")
    length_y: Figure = figure("length")
    length_z: Figure = figure("length")
    temperature: Figure = figure("temperature")  # highest set point
    ambient: Figure = figure("temperature")
    heat_transfer: Figure = figure("heat_transfer")  # at the box's faces
    cool_time: Figure = figure("time")  # until the box may be opened
    rate: Figure = figure("price_per_time")
