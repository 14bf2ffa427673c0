"""How much powder and binder one box takes, and whether it will jet and wet."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds


@good
class Dose:
    drop: float = holds("of one drop; of the largest, if there are several", "m3", shown="pL")
    level_drops: tuple[float, ...]  # volume of the drop of each level, smallest first [m3]
    saturation_asked: float = holds("binder volume over pore volume", "share")
    saturation: float = holds("as printed, with that drop on that lattice", "share")
    saturation_u: float = holds("standard uncertainty, from packing and drop", "share")
    level_saturations: tuple[float, ...]  # that each level prints everywhere [-]
    thin_to: float = holds(
        "share of the drops that would print what is asked, where drops are too large", "share"
    )
    packing: float = holds("share of the bed that is solid", "share")
    drops: int = holds("of any size")
    drops_by_layer: ndarray  # int64 (layers,)
    binder_by_layer: ndarray  # float64 (layers,) jetted [m3]
    binder: float = holds("jetted", "m3", shown="mL")
    binder_most: float  # jetted in the layer with most of it [m3]
    binder_mass: float = holds("jetted", "kg", shown="g")
    solids_mass: float = holds("stays after drying, to be debound", "kg", shown="g")
    powder_fed: float = holds("what the box holds, and what is fed beyond it", "kg")
    powder_in_box: float = holds("height used times area, pieces included", "kg")
    powder_in_pieces: float = holds("leaves with them", "kg")
    powder_loose: float = holds("before losses", "kg")
    powder_lost: float = holds("sieve, dust, trapped", "kg")
    powder_back: float = holds("to the sieve", "kg")  # loose + overfed - lost
    reynolds: float = holds("of the drop in flight")
    weber: float = holds("of the drop in flight")
    ohnesorge: float = holds("of the drop in flight")
    pore_radius: float = holds("effective", "m", shown="um")
    capillary_pressure: float = holds("that draws binder into the bed", "Pa")
    soak_time: float = holds("for one drop to sink in", "s", shown="ms")
    layer_soak: float = holds(
        "until binder has soaked through one layer, with supply unlimited", "s", shown="ms"
    )
    spread: float = holds("radius of the half ball that one drop fills", "m", shown="um")
    overreach: float = holds("of one drop beyond its cell", "m", shown="um")
    equilibrium: float | None = holds("that the bed holds; None without own constants", "share")
    bleed_most: float = holds(
        "that surplus binder would move outlines by, were none to dry or drain", "m", shown="um"
    )
    standing: str = holds("of the weakest figure that drop and wetting rest on")
    findings: tuple[Finding, ...]
