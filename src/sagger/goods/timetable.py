"""How long each layer and the box take, what limits it, and what leaves while it dries."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds


@good
class Change:
    """One thing done otherwise, and what it would buy."""

    name: str = holds("drying half as long, …")
    layer: float = holds("mean time of a layer then", "s", shown="s")
    build: float = holds("all layers then", "s")
    note: str = holds("what to look at before doing it", default="")


@good
class Drying:
    """Heat, vapour and what stays wet. Estimates for planning, no design of ventilation."""

    lamp_power: float = holds("electric, while drying", "W")
    lamp_energy: float = holds("electric, per layer", "J", shown="kJ")
    flux: float = holds(
        "water that the air over the bed can carry; 0 without water or drying", "kg/m2.s", shown="g/m2.s"
    )
    least: float = holds("that the share to be dried needs at that rate", "s", shown="s")
    gone: ndarray  # float64 (layers,): water that leaves while each layer is dried [kg]
    water_jetted: float = holds("in the box", "kg", shown="g")
    water_left: float = holds(
        "in the box when the last layer is dried; an estimate on the wet side", "kg", shown="g"
    )
    solvent: float = holds(
        "flammable, in the box; all of it may leave while printing or in the oven", "kg", shown="g"
    )
    vapour: float = holds(
        "flammable, of the wettest layer over its layer time; an upper bound", "kg/s", shown="g/h"
    )
    burst: float = holds(  # without drying, over the layer time
        "the same over its drying time", "kg/s", shown="g/h"
    )
    ventilation: float = holds(  # at 20 degC
        "air that holds vapour_g_per_h at a quarter of its lower explosive limit", "m3/s", shown="m3/h"
    )
    burst_ventilation: float = holds("the same for burst_g_per_h", "m3/s", shown="m3/h")
    standing: str = holds("of the weakest figure all this rests on")
    oven_air: float = holds(  # at 70 degF
        "for all solvent in a batch oven, NFPA 86 where nothing better is known", "m3/s", shown="m3/h"
    )


@good
class Timetable:
    """How long one layer and one box take. The parts of a layer are those of the layer with most passes."""

    spread: float = holds("spreading one layer", "s", shown="s")
    back: float = holds("of the spreader", "s", shown="s")
    passes: int = holds("per layer")
    stripes: int = holds("that a pass each covers")
    print: float = holds("passes of one layer", "s", shown="s")
    dry: float = holds("drying one layer", "s", shown="s")
    clean: float = holds("share of one layer", "s", shown="s")
    platform: float = holds("lowering it by one layer", "s", shown="s")
    layer: float = holds("sum of the six above and of the help", "s", shown="s")
    by_layer: ndarray  # float64 (layers,) [s]
    layers: int
    build: float = holds("all layers", "s")
    setup: float = holds("before and after the layers", "s")
    firing: float = holds("of the nozzles in a pass", "Hz", shown="kHz")
    firing_most: float = holds("what the head allows", "Hz", shown="kHz")
    volume_rate: float = holds("of the box, pieces and loose powder", "m3/s", shown="cm3/h")
    bed_rate: float = holds("powder spread in the box", "kg/s", shown="kg/h")
    piece_rate: float = holds("powder in pieces", "kg/s", shown="kg/h")
    # "spreading", "printing", "drying", "cleaning" or "the platform"
    longest: str = holds("what takes most of the build")
    longest_share: float = holds("of the build", "share")
    changes: tuple[Change, ...] = holds("one at a time; the one that buys most first")
    drying: Drying
    standing: str = holds("of the weakest figure the clock rests on")
    findings: tuple[Finding, ...]
    helped: float = holds("beyond the strokes: slurry dried, powder fed by hand", "s", shown="s", default=0.0)
