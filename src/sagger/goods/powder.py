"""A powder card, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure, optional_figure
from sagger.goods.good import good, holds


@good
class Segment:
    """One stretch of the furnace programme: ramp at `rate` to `target`, then hold."""

    rate: float = holds("of heating", "K/s")
    target: float = holds("where the ramp ends", "K")
    hold: float = holds("at the target", "s", shown="min")
    atmosphere: str = holds("air, hydrogen, argon, nitrogen or vacuum")
    stage: str = holds("debinding or sintering")
    source: str = ""  # of the stretch, as for a figure
    where: str = ""
    standing: str = "assumed"


@good
class Coarsening:
    """How grains grow in the furnace: d(G^3)/dt = factor exp(-Q/RT), times what pores hold back."""

    grain: Figure = figure("length")  # first grain size; capillary_radius belongs to it
    factor: Figure = figure("volume_flow")
    energy: Figure = figure("molar_energy")
    drag: Figure = figure("pure")  # porosity below which pores let go of boundaries
    exponent: Figure = figure("pure")  # by which viscosity rises with grain size: 2 lattice, 3 boundaries


@good
class ClosedPores:
    """Pores that close on gas which does not dissolve (argon, nitrogen, air)."""

    closure: Figure = figure("pure")  # relative density at which they close
    radius: Figure = figure("length")  # of a pore there


@good
class Sintering:
    """What a powder does in the furnace. Relative densities are of powder solids, binder excluded."""

    green_density: Figure = figure("pure")
    sintered_density: Figure = figure("pure")  # reached by the card's programme
    end_density: Figure = figure("pure")  # above it the law is capped (grain growth, closed gas)
    anisotropy_z: Figure = figure("pure")  # s_z / s_x, linear shrinkages
    anisotropy_y: Figure = figure("pure")  # s_y / s_x
    scatter: Figure = figure("pure")  # part-to-part standard deviation of a length, relative
    surface_energy: Figure = figure("surface_tension")
    capillary_radius: Figure = figure("length")  # r in P_L = (3 alpha / r) rho^2
    viscosity_factor: Figure = figure("viscosity_per_kelvin")  # eta_r in eta = eta_r T exp(Q/RT); its u is
    # that of alpha / (r eta_r) as a whole: alpha and r are taken as known where density is concerned
    activation_energy: Figure = figure("molar_energy")  # Q
    debind_energy: Figure = figure("molar_energy")  # of binder burnout
    debind_peak: Figure = figure("temperature")  # of burnout at the reference rate
    debind_peak_rate: Figure = figure("heating_rate")  # reference rate of debind_peak
    debind_overpressure: Figure = figure("pressure")  # allowed in the section
    programme: tuple[Segment, ...]
    family: str  # loads of one family may share a furnace run
    viscosity_pivot: Figure | None = optional_figure("temperature")  # where viscosity is known best, see docs
    solidus: Figure | None = optional_figure("temperature")  # above it the body melts
    coarsening: Coarsening | None = None
    closed_pores: ClosedPores | None = None
    # Where a card leaves the next four out, it gets those of its kind when it is read (cards/families.py).
    law_doubt: Figure | None = optional_figure(
        "pure"
    )  # standard deviation of ln decay that the law is off by
    grain_size: Figure | None = optional_figure("length")  # d50 that capillary_radius and viscosity belong to
    size_exponent: Figure | None = optional_figure("pure")  # alpha / (r eta) falls with this power of d50
    law_green: Figure | None = optional_figure("pure")  # green density that the law belongs to
    lot_scatter: Figure | None = optional_figure("pure")  # of a length, relative: s.d. from lot to lot
    debind_wall_most: Figure | None = optional_figure("length")  # finished; thicker ones are not in print


@good
class Casting:
    """Linear contraction of a cast metal, by alloy; two sources where they disagree."""

    alloy: str
    contraction: Figure = figure("pure")
    other: Figure = figure("pure")  # a second source's value
    ignition_most: Figure | None = optional_figure("pure")  # loss on ignition that this metal bears


@good
class Reuse:
    """From when on used powder wants a look; None = the card sets no limit."""

    most_builds: Figure | None = optional_figure("count")  # builds behind it from which powder counts as old
    old_share: Figure | None = optional_figure("pure")  # of a lot, that may be that old
    fines_lost: Figure | None = optional_figure("pure")  # share of what was finer than the card's d10
    most_oxygen: Figure | None = optional_figure("pure")  # mass share


@good
class Powder:
    name: str
    title: str
    kind: str  # "metal", "ceramic", "sand"
    hazards: tuple[str, ...]  # keys of cautions, e.g. "metal dust", "nickel", "silica"
    solid_density: Figure = figure("density")
    packing: Figure = figure("pure")  # share of the spread bed that is solid
    d10: Figure = figure("length")
    d50: Figure = figure("length")
    d90: Figure = figure("length")
    layer: Figure = figure("length")  # recommended layer height
    least_wall: Figure = figure("length")
    least_gap: Figure = figure("length")  # narrow gap from which powder still comes out
    escape_channel: Figure = figure("length")  # smallest opening through which loose powder leaves a cavity
    solid_conductivity: Figure = figure("conductivity")
    bed_conductivity: Figure = figure("conductivity")
    heat_capacity: Figure = figure("heat_capacity")  # of the solid
    loss: Figure = figure("pure")  # share of loose powder lost per build (sieve, dust, trapped)
    green_strength: Figure = figure("pressure")  # in bending, cured
    price: Figure = figure("price_per_mass")
    sintering: Sintering | None
    castings: tuple[Casting, ...]  # sand only; empty otherwise
    reuse: Reuse | None = None
    # Held where neither order nor part says otherwise; None = not compensated, no core.
    bleed: Figure | None = optional_figure("length")  # how far binder creeps beyond an outline
    bleed_depth: Figure | None = optional_figure("length")  # how far binder soaks below a layer
    # How sizes scatter where nothing was measured yet; None = not counted.
    bleed_doubt: Figure | None = optional_figure("length")  # u of bleed and soaking, the same for a lot
    edge_scatter: Figure | None = optional_figure("length")  # sd of one printed edge, from piece to piece
    bed_scatter: Figure | None = optional_figure("pure")  # sd of a length over the bed, relative
    mould_scatter: Figure | None = optional_figure("pure")  # sand: sd of a cast length by the mould's give
    skin: Figure | None = optional_figure("length")  # thickness of a skin around a core
    skin_saturation: Figure | None = optional_figure("pure")  # share of the saturation
    core_saturation: Figure | None = optional_figure("pure")  # share of the saturation
    help_time: Figure | None = optional_figure("time")  # per layer beside the strokes: slurry, feeding
    premixed: Figure | None = optional_figure("pure")  # sand: acid mixed into it, share of its mass
    loose_strength: Figure | None = optional_figure(
        "pressure"
    )  # unconfined yield strength of the loose powder
    dust_index: Figure | None = optional_figure("dust_index")  # K_St of its fines, by a laboratory's report
    emissivity: Figure | None = optional_figure("pure")  # of the grains; None: bed_conductivity stands
    green_conductivity: Figure | None = optional_figure("conductivity")  # of printed pieces; None: as the bed
    held_saturation: Figure | None = optional_figure("pure")  # that the bed holds, from a ladder of coupons
    # How the bed holds binder against suction (Brooks and Corey), fitted to own coupons; None = not known.
    entry_pressure: Figure | None = optional_figure("pressure")  # at which the largest pores empty
    pore_exponent: Figure | None = optional_figure("pure")  # spread of pore sizes
    residual_saturation: Figure | None = optional_figure("pure")  # that stays at any suction
