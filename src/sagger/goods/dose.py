"""How much powder and binder one box takes, and whether it will jet and wet."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Dose:
    drop: float  # volume of one drop; of the largest, if there are several [m3]
    level_drops: tuple[float, ...]  # volume of the drop of each level, smallest first [m3]
    saturation_asked: float  # [-]
    saturation: float  # as printed, with that drop on that lattice [-]
    saturation_u: float  # standard uncertainty, from the packing and the drop [-]
    level_saturations: tuple[float, ...]  # that each level prints everywhere [-]
    thin_to: float  # share of the drops that would print what is asked, where drops are too large; else 1 [-]
    packing: float  # of the bed [-]
    drops: int  # in the box, of any size
    drops_by_layer: ndarray  # int64 (layers,)
    binder_by_layer: ndarray  # float64 (layers,) jetted [m3]
    binder: float  # jetted [m3]
    binder_most: float  # jetted in the layer with most of it [m3]
    binder_mass: float  # [kg]
    solids_mass: float  # of binder that stays, to be debound [kg]
    powder_fed: float  # [kg]
    powder_in_box: float  # height used x area, pieces included [kg]
    powder_in_pieces: float  # [kg]
    powder_loose: float  # comes back before losses [kg]
    powder_lost: float  # [kg]
    powder_back: float  # to the sieve: loose + overfed - lost [kg]
    reynolds: float
    weber: float
    ohnesorge: float
    pore_radius: float  # effective [m]
    capillary_pressure: float  # [Pa]
    soak_time: float  # for one drop to sink in [s]
    layer_soak: float  # until binder has soaked through a layer, with supply unlimited [s]
    spread: float  # radius of the half ball that one drop fills [m]
    overreach: float  # of one drop beyond its cell [m]
    equilibrium: float | None  # saturation the bed holds; None without the card's own constants [-]
    bleed_most: float  # that surplus binder would move outlines by, were none to dry or drain [m]
    standing: str  # of the weakest figure that drop and wetting rest on
    findings: tuple[Finding, ...]
