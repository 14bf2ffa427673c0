"""How long each layer and the box take, what limits it, and what leaves while it dries."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Change:
    """One thing done otherwise, and what it would buy."""

    name: str  # "drying half as long", …
    layer: float  # mean layer time then [s]
    build: float  # [s]
    note: str = ""  # what to look at before doing it


@good
class Drying:
    """Heat, vapour and what stays wet. Vapour is an estimate for planning, no design of ventilation."""

    lamp_power: float  # electric, while drying [W]
    lamp_energy: float  # electric, per layer [J]
    flux: (
        float  # water that the air over the bed can carry while drying [kg/(m2 s)]; 0 without water or drying
    )
    least: float  # time that the share to be dried needs at that flux [s]
    gone: ndarray  # float64 (layers,): water that leaves while each layer is dried [kg]
    water_jetted: float  # in the box [kg]
    water_left: float  # of it, when the last layer is dried; on the wet side [kg]
    solvent: float  # flammable, in the box; all of it may leave while printing or in the oven [kg]
    vapour: float  # flammable, in the wettest layer, over its layer time; upper bound [kg/s]
    burst: float  # the same over its drying time [kg/s]; without drying, over the layer time
    ventilation: float  # air that holds `vapour` at a quarter of its lower explosive limit, 20 degC [m3/s]
    burst_ventilation: float  # the same for `burst` [m3/s]
    standing: str  # of the weakest figure all this rests on
    oven_air: float  # for all solvent in a batch oven, 70 degF [m3/s]


@good
class Timetable:
    spread: float  # [s] per layer, as all below
    back: float  # return of the spreader
    passes: int  # of the layer with most
    stripes: int
    print: float  # of the layer with most passes
    dry: float
    clean: float  # share of one layer
    platform: float
    layer: float  # sum, of the layer with most passes
    by_layer: ndarray  # float64 (layers,) [s]
    layers: int
    build: float  # [s], all layers
    setup: float  # [s]
    firing: float  # [Hz]
    firing_most: float  # [Hz]
    volume_rate: float  # of the box, pieces and loose powder [m3/s]
    bed_rate: float  # powder spread in the box [kg/s]
    piece_rate: float  # powder in pieces [kg/s]
    longest: (
        str  # what takes most of the build: "spreading", "printing", "drying", "cleaning" or "the platform"
    )
    longest_share: float  # of the build [-]
    changes: tuple[Change, ...]  # the one that buys most first
    drying: Drying
    standing: str  # of the weakest figure the clock rests on
    findings: tuple[Finding, ...]
