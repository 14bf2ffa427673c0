"""What plan.json holds about a box, from nest to oven."""

from __future__ import annotations

from sagger.views.plan.asked import Leaf, Triple, says


class TreatmentOut(Leaf):
    """How one part is drawn."""

    part: int = says("index into `parts`")
    bleed_um: float = says("outlines lie inside by this")
    depth_um: float = says("undersides lie higher by this, in whole layers")
    skin_mm: float | None = says("thickness of the skin; null = no core")
    skin_saturation_percent: float = says("of the saturation")
    core_saturation_percent: float = says("of the saturation")


class LevelOut(Leaf):
    """What one level of the layer files means."""

    level: int = says("as stored in the files; 0 is no drop")
    volume_pL: float = says("of its drop")
    drops: int = says("of all layers")


class ClassOut(Leaf):
    """Places of the drop lattice that want one saturation, in all layers."""

    of_full_percent: float = says("of the drops that full saturation sets")
    saturation_percent: float = says("binder volume over pore volume")
    places: int
    drops: int | None = says("null for grey levels, which `drop_table` counts")


class LayersOut(Leaf):
    """The layers of one box."""

    count: int
    thickness_um: float
    pitch_um: tuple[float, float] = says("spacing of drops along x and y")
    columns: int = says("drops along x")
    rows: int = says("drops along y")
    bits: int = says("per drop, as in the files")
    first_row: str = says("where the first row of a file lies: y low or y high")
    jitter: bool = says("sampling phase moved from layer to layer")
    leaks: int = says("rows left open by a broken mesh")
    bridges: int = says("gaps in outlines that were joined")
    longest_bridge_mm: float
    missed_rows: list[int] = says("rows that no living nozzle comes to, from 0 at low y")
    lost_drops: int = says("of those rows, that found no place beside")
    drop_table: list[LevelOut]
    classes: list[ClassOut] = says("highest saturation first, before missed rows are made good")
    treatments: list[TreatmentOut] = says("of all parts of the order")
    digest: str = says("of all layers as drawn, in order")


class DropsOut(Leaf):
    """Drops of one box, and whether they jet and wet."""

    count: int = says("of any size")
    most_in_a_layer: int
    volume_pL: float = says("of one drop; of the largest, if there are several")
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


class CleaningOut(Leaf):
    """What one part asks for while it is unpacked."""

    part: int = says("index into `parts`")
    pieces: int = says("in this box")
    means: str = says("what its thinnest wall bears: brush and air; air, no brush; …")
    trapped_g: float = says("powder that stays in each piece")
    pockets_g: float = says("powder in each piece that leaves through channels")
    way_widths: float = says("length over width of the longest way out for its width; 0 = no channel")
    openings: int = says("of the pocket that this way belongs to")


class DepowderOut(Leaf):
    """How one box is unpacked, and how much powder comes back."""

    hands_on_h: float
    cake_kg: float = says("powder out of the box to the sieve")
    cake_u_kg: float = says("standard uncertainty, as far as the powder card states its own")
    overfed_kg: float = says("powder that never lay in the box")
    trapped_kg: float = says("stays in the pieces")
    pockets_kg: float = says("leaves through channels; part of cake_kg")
    lost_kg: float = says("sieve, dust")
    standing: str = says("of the weakest figure that these masses rest on")
    cleanings: list[CleaningOut] = says("one per part in this box")


class BoxOut(Leaf):
    """One box, from nest to clean green parts."""

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
    depowder: DepowderOut
