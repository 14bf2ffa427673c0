"""A binder card, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure, optional_figure
from sagger.goods.good import good


@good
class Stretch:
    """One stretch of an oven programme: at `rate` to `target`, then hold."""

    rate: Figure = figure("heating_rate")
    target: Figure = figure("temperature")
    hold: Figure = figure("time")


@good
class Binder:
    name: str
    title: str
    fits: tuple[str, ...]  # kinds of powder: "metal", "ceramic", "sand"
    hazards: tuple[str, ...]
    density: Figure = figure("density")
    viscosity: Figure = figure("viscosity")
    surface_tension: Figure = figure("surface_tension")
    contact_angle: Figure = figure("angle")
    solids: Figure = figure("pure")  # mass share that stays after drying (polymer, resin)
    water: Figure = figure("pure")  # mass share
    solvent: Figure = figure("pure")  # mass share that is flammable
    solvent_molar_mass: Figure = figure("molar_mass")
    solvent_lower_limit: Figure = figure("pure")  # lower explosive limit, volume share in air
    saturation: Figure = figure("pure")  # target, binder volume over pore volume
    dry_time: Figure = figure("time")  # per layer
    dried_share: Figure = figure("pure")  # share of the liquid that leaves in dry_time
    bed_temperature: Figure = figure("temperature")  # of the surface while drying
    oven_temperature: Figure = figure("temperature")  # set point for curing this binder
    cure_temperature: Figure = figure("temperature")  # the core must reach
    cure_energy: Figure = figure("molar_energy")
    cure_t95: Figure = figure("time")  # to 95 % cure at cure_temperature
    vapour_molar_mass: Figure = figure("molar_mass")  # of what leaves in debinding
    vapour_viscosity: Figure = figure("viscosity")  # of gas and vapour in the pores while it leaves
    price: Figure = figure("price_per_volume")
    cold_cure_time: Figure | None = optional_figure("time")  # in the room, until pieces can be lifted
    heat_capacity: Figure | None = optional_figure("heat_capacity")  # of liquid left in pieces
    oven_temperature_most: Figure | None = optional_figure("temperature")  # None: as the set point
    cure_most: Figure | None = optional_figure("time")  # that a piece may see, at cure_temperature
    programme: tuple[Stretch, ...] = ()  # before oven_temperature is held, e.g. to let water out
