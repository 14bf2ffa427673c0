"""What plan.json holds about a box, from nest to oven."""

from __future__ import annotations

from sagger.views.plan.asked import Leaf, Triple, says


class LayersOut(Leaf):
    """The layers of one box."""

    count: int
    thickness_um: float
    pitch_um: tuple[float, float] = says("spacing of drops along x and y")
    columns: int = says("drops along x")
    rows: int = says("drops along y; row 0 lies at y = 0")
    jitter: bool = says("sampling phase moved from layer to layer")
    leaks: int = says("rows left open by a broken mesh")
    bridges: int = says("gaps in outlines that were joined")
    digest: str = says("of all layers as drawn, in order")


class DropsOut(Leaf):
    """Drops of one box, and whether they jet and wet."""

    count: int
    most_in_a_layer: int
    volume_pL: float = says("of one drop")
    saturation_asked_percent: float = says("binder volume over pore volume")
    saturation_percent: float = says("as printed, with that drop on that lattice")
    reynolds: float
    weber: float
    ohnesorge: float
    pore_radius_um: float = says("effective")
    capillary_pressure_kPa: float
    soak_time_ms: float = says("for one drop to sink in")


class BinderOut(Leaf):
    """Binder of one box."""

    volume_mL: float = says("jetted")
    mass_g: float
    solids_mass_g: float = says("stays after drying, to be debound")


class PowderOut(Leaf):
    """Powder of one box."""

    packing_percent: float = says("share of the bed that is solid")
    fed_kg: float
    in_box_kg: float = says("height used times area, pieces included")
    in_pieces_kg: float
    loose_kg: float = says("before losses")
    lost_kg: float
    back_kg: float = says("to the sieve")


class TimesOut(Leaf):
    """How long one layer and one box take."""

    spread_s: float
    return_s: float
    print_s: float
    dry_s: float
    clean_s: float = says("share of one layer")
    platform_s: float
    layer_s: float = says("sum of the six above")
    passes: int = says("per layer")
    stripes: int
    build_h: float = says("all layers")
    setup_h: float
    firing_kHz: float
    firing_most_kHz: float = says("what the head allows")
    lamp_power_W: float = says("electric, while drying")
    vapour_g_per_h: float = says("flammable solvent released while printing")
    ventilation_m3_per_h: float = says(
        "air that holds the vapour at a quarter of its lower explosive limit, 20 °C; an estimate, no design"
    )


class CureOut(Leaf):
    """One box in the oven."""

    oven_temperature_degC: float
    core_temperature_degC: float = says("the core must reach")
    degree_percent: float = says("degree of cure asked of the core")
    time_to_temperature_h: float
    time_to_cure_h: float
    corner_equivalent_h: float = says("a corner's time at cure temperature when the core is done")
    hold_h: float = says("oven time planned")
    cool_h: float


class BoxOut(Leaf):
    """One box, from nest to oven."""

    number: int
    size_mm: Triple = says("of the job box")
    pieces: int
    height_mm: float = says("top of the highest piece above the platform")
    gap_mm: float = says("asked between pieces")
    least_gap_mm: float | None = says("smallest found between two pieces; null for a single piece")
    wall_gap_mm: float = says("smallest found to walls, floor and top")
    volume_mm3: float = says("of all pieces, at green size")
    density_percent: float = says("that volume over box area times height")
    layers: LayersOut
    drops: DropsOut
    binder: BinderOut
    powder: PowderOut
    times: TimesOut
    cure: CureOut
