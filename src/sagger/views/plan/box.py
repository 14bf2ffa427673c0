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
    saturation_percent: float = says("that it prints where it falls on every place")
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
    saturation_u_percent: float = says("standard uncertainty, from packing and drop")
    thin_to_percent: float = says(
        "share of the drops that would print what is asked, where drops are too large"
    )
    standing: str = says("of the weakest figure that drop and wetting rest on")
    reynolds: float
    weber: float
    ohnesorge: float
    pore_radius_um: float = says("effective")
    capillary_pressure_kPa: float
    soak_time_ms: float = says("for one drop to sink in")
    layer_soak_ms: float = says("until binder has soaked through one layer, with supply unlimited")
    spread_um: float = says("radius of the half ball that one drop fills")
    overreach_um: float = says("of one drop beyond its cell")
    equilibrium_saturation_percent: float | None = says("that the bed holds; null without own constants")
    bleed_most_um: float = says("that surplus binder would move outlines by, were none to dry or drain")


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


class LayerTimeOut(Leaf):
    """Layers of equal time that follow each other."""

    first: int = says("from 1")
    last: int
    layer_s: float


class ChangeOut(Leaf):
    """One thing done otherwise, and what it would buy."""

    change: str
    mean_layer_s: float
    build_h: float
    note: str = says("what to look at before doing it")


class TimesOut(Leaf):
    """How long one layer and one box take. The parts of a layer are those of the layer with most passes."""

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
    mean_layer_s: float
    layer_times: list[LayerTimeOut] = says("layers in order, those of equal time together")
    volume_rate_cm3_per_h: float = says("of the box, pieces and loose powder")
    bed_rate_kg_per_h: float = says("powder spread in the box")
    piece_rate_kg_per_h: float = says("powder in pieces")
    standing: str = says("of the weakest figure the clock rests on")
    longest: str = says("what takes most of the build")
    longest_percent: float = says("of the build")
    changes: list[ChangeOut] = says("one at a time; the one that buys most first")
    lamp_power_W: float = says("electric, while drying")
    vapour_g_per_h: float = says("flammable solvent released while printing")
    ventilation_m3_per_h: float = says(
        "air that holds the vapour at a quarter of its lower explosive limit, 20 °C; an estimate, no design"
    )


class SpotOut(Leaf):
    """A place in the box, and whose piece is there."""

    part: int = says("index into `parts`")
    number: int = says("of the piece")
    at_mm: Triple = says("in the box")


class ShorterOut(Leaf):
    """A programme that cures the last piece as far in less time, within the limits."""

    programme: list[tuple[float, float]] = says("hours from closing the oven, °C; straight in between")
    time_to_cure_h: float
    corner_equivalent_h: float = says("hottest piece, as above")
    saved_h: float = says("before the last piece is cured by the programme planned")


class CourseOut(Leaf):
    """What oven and pieces do, from closing the oven to opening it; lists of one length."""

    time_h: list[float]
    oven_degC: list[float]
    core_degC: list[float] = says("coldest place in any piece")
    corner_degC: list[float] = says("hottest place in any piece")
    core_cure_percent: list[float] = says("degree of cure where it is least")
    corner_cure_percent: list[float] = says("where it is most")


class DryingOut(Leaf):
    """Heat, vapour and what stays wet. Estimates for planning, no design of ventilation."""

    lamp_power_W: float = says("electric, while drying")
    standing: str = says("of the weakest figure all this rests on")
    lamp_energy_kJ: float = says("electric, per layer")
    evaporation_g_per_m2_s: float = says(
        "water that the air over the bed can carry; 0 without water or drying"
    )
    least_time_s: float = says("that the share to be dried needs at that rate")
    water_jetted_g: float
    water_left_g: float = says("in the box when the last layer is dried; an estimate on the wet side")
    solvent_g: float = says("flammable, in the box; all of it may leave while printing or in the oven")
    vapour_g_per_h: float = says("flammable, of the wettest layer over its layer time; an upper bound")
    burst_g_per_h: float = says("the same over its drying time")
    ventilation_m3_per_h: float = says(
        "air that holds vapour_g_per_h at a quarter of its lower explosive limit"
    )
    burst_ventilation_m3_per_h: float = says("the same for burst_g_per_h")
    oven_air_m3_per_h: float = says("for all solvent in a batch oven, NFPA 86 where nothing better is known")


class CureOut(Leaf):
    """One box in the oven."""

    oven_temperature_degC: float
    core_temperature_degC: float = says("every piece must reach")
    degree_percent: float = says("degree of cure asked of the last piece")
    time_to_temperature_h: float = says("coldest place in any piece")
    time_to_cure_h: float = says("last piece")
    corner_equivalent_h: float = says("hottest piece's time at cure temperature when heating ends")
    corner_most_h: float = says("longest that it may be")
    hold_h: float = says("heating planned, ramp included")
    hold_u_h: float = says("standard uncertainty of it")
    hold_shares_percent: dict[str, float] = says("parts of its variance")
    cool_h: float = says("until the box may be opened")
    final_cure_percent: float = says("of the last piece when the box is opened")
    programme: list[tuple[float, float]] = says("hours from closing the oven, °C; straight in between")
    last_piece: SpotOut | None = says("cured last; null without pieces")
    hottest_piece: SpotOut | None
    shorter: ShorterOut | None = says("null if none was found")
    bed_conductivity_W_per_mK: float = says("of loose powder")
    bed_conductivity_u_W_per_mK: float
    bed_conductivity_from: str = says("card or law")
    piece_conductivity_W_per_mK: float
    voxels: tuple[int, int, int] = says("the bed was computed on")
    course: CourseOut


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


class PoseOut(Leaf):
    """An orientation that was taken in a box."""

    part: int = says("index into `parts`")
    turn: int
    pieces: int = says("that stand so")
    height_mm: float
    steps: float = says("mean height of the steps that layers leave on slopes, in layer heights")
    carried_percent: float = says("loose powder that comes along when it is lifted, of the part's volume")
    sag_mm: float | None = says("in the furnace, standing as it lies; null unless `prefer` is sag")


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
    gap_z_mm: float | None = says("asked between pieces one above the other; null = as `gap_mm`")
    bound_mm: float = says("no nest of these pieces can be lower")
    filling_percent: list[float] = says("printed share of the box area in equal slabs, lowest first")
    printed_most_percent: float = says("printed share of the box area in the fullest layer")
    poses: list[PoseOut] = says("orientations that were taken")
    lift_order: list[list[int]] = says("part and number of each piece, first to be lifted out first")
    layers: LayersOut
    drops: DropsOut
    binder: BinderOut
    powder: PowderOut
    times: TimesOut
    drying: DryingOut
    cure: CureOut
    depowder: DepowderOut
