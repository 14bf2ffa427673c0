"""A job box and the machine around it, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure, optional_figure
from sagger.goods.good import good


@good
class Plate:
    """What a wall or the base plate of the box is made of."""

    thickness: Figure = figure("length")
    conductivity: Figure = figure("conductivity")
    density: Figure = figure("density")
    heat_capacity: Figure = figure("heat_capacity")


@good
class Box:
    name: str
    title: str
    length_x: Figure = figure("length")  # along the spreading stroke
    length_y: Figure = figure("length")
    length_z: Figure = figure("length")
    gap: Figure = figure("length")  # between pieces, by default
    wall_gap: Figure = figure("length")  # to walls
    floor_gap: Figure = figure("length")  # powder below the first and above the last piece
    spread_speed: Figure = figure("speed")
    return_speed: Figure = figure("speed")
    platform_time: Figure = figure("time")
    over_travel: Figure = figure("length")  # of a pass beyond the box, both ends together
    overfeed: Figure = figure("pure")  # powder fed beyond what the box holds
    lamp_efficiency: Figure = figure("pure")  # radiant power absorbed over electric power
    setup_time: Figure = figure("time")  # per build
    depowder_time: Figure = figure("time")  # hands-on, per litre of box used: time per 1e-3 m3
    rate: Figure = figure("price_per_time")  # machine hour
    wall: Plate | None = None  # four sides that go into the oven with the powder; None: powder alone
    base: Plate | None = None  # base plate below it
    # Hands-on while it is unpacked, beside the litres; None: not counted.
    piece_time: Figure | None = optional_figure("time")  # per piece
    channel_time: Figure | None = optional_figure("time")  # per opening that powder has to leave by
    soft_jet_times: Figure | None = optional_figure("pure")  # times as long where no brush may touch
    by_hand_times: Figure | None = optional_figure("pure")  # ... neither brush nor jet
