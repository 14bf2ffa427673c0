"""A curing oven, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure, optional_figure
from sagger.goods.good import good


@good
class Faces:
    """Heat transfer at faces of the box that differ from the rest."""

    x_low: Figure | None = optional_figure("heat_transfer")
    x_high: Figure | None = optional_figure("heat_transfer")
    y_low: Figure | None = optional_figure("heat_transfer")
    y_high: Figure | None = optional_figure("heat_transfer")
    bottom: Figure | None = optional_figure("heat_transfer")
    top: Figure | None = optional_figure("heat_transfer")


@good
class OvenGas:
    """What fills the oven, and the pores between grains, at about 400 K."""

    conductivity: Figure = figure("conductivity")
    molar_mass: Figure = figure("molar_mass")
    heat_capacity: Figure = figure("heat_capacity")


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
    cool_time: Figure = figure("time")  # until the box may be opened, where open_temperature is not given
    rate: Figure = figure("price_per_time")
    ramp: Figure | None = optional_figure("heating_rate")  # fastest, up and down; None: at set point at once
    open_temperature: Figure | None = optional_figure("temperature")  # hottest in a box when opened
    faces: Faces | None = None  # None: heat_transfer at all six
    gas: OvenGas | None = None  # None: the powder card's bed_conductivity is taken as it stands
