"""The layer clock, the lamp and the vapour of one box."""

from __future__ import annotations

from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.dose import Dose
from sagger.goods.finding import Finding
from sagger.goods.head import Head
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack
from sagger.goods.timetable import Timetable
from sagger.physics import drying, pass_clock
from sagger.units import into

ROOM = 298.15  # binder and powder before drying [K]; common practice, no source
WATER_HEAT = 4.18e3  # of liquid water, 25 to 60 degC [J/(kg K)]; steam tables
WATER_LATENT = 2.36e6  # of evaporation near 60 degC [J/kg]; steam tables. Solvents take less: an upper bound
VAPOUR_SHARE = 0.25  # of the lower explosive limit; NFPA 86 as quoted for OSHA 1910.107


def time(stack: Stack, dose: Dose, powder: Powder, binder: Binder, head: Head, box: Box) -> Timetable:
    """How long each layer and the box take, with lamp power and vapour.

    Parameters
    ----------
    stack, dose : Stack, Dose
        Lattice and layer count; binder per layer.
    powder, binder, head, box
        The cards.

    Returns
    -------
    Timetable
        Lamp and vapour are those of the layer with most binder. Findings: a head that cannot fire so
        fast; vapour.

    Raises
    ------
    LawError
        If a speed or the lamp's efficiency on a card makes no sense.
    """
    native = head.native_y.value
    swath = pass_clock.swath(round(head.nozzles.value), native)
    width, stroke = box.length_y.value, box.length_x.value
    passes = pass_clock.passes(width, swath, 1e3 / stack.pitch_mm[1], native, round(head.redundancy.value))
    spread = pass_clock.stroke_time(stroke, box.spread_speed.value)
    back = pass_clock.stroke_time(stroke, box.return_speed.value)
    printing = pass_clock.print_time(
        passes, stroke + box.over_travel.value, head.pass_speed.value, head.turn_time.value
    )
    clean = head.clean_time.value / head.clean_every.value
    dry, platform = binder.dry_time.value, box.platform_time.value
    layer = pass_clock.layer_time(spread, back, printing, dry, clean, platform)
    firing = pass_clock.firing_frequency(head.pass_speed.value, stack.pitch_mm[0] * 1e-3)
    vapour, air = _vapour(dose, binder, layer)
    return Timetable(
        spread=spread,
        back=back,
        passes=passes,
        stripes=pass_clock.stripes(width, swath),
        print=printing,
        dry=dry,
        clean=clean,
        platform=platform,
        layer=layer,
        layers=stack.count,
        build=stack.count * layer,
        setup=box.setup_time.value,
        firing=firing,
        firing_most=head.frequency.value,
        lamp_power=_lamp(dose, powder, binder, box),
        vapour=vapour,
        ventilation=air,
        findings=(*_fires(firing, stack, head), *_breathes(vapour, air)),
    )


def _wettest(dose: Dose, binder: Binder) -> float:
    """Binder in the layer with most of it [kg]."""
    return dose.binder_most * binder.density.value


def _lamp(dose: Dose, powder: Powder, binder: Binder, box: Box) -> float:
    """Electric power while drying [W]; 0 if the layer is not dried."""
    dry, surface = binder.dry_time.value, binder.bed_temperature.value
    if dry <= 0 or surface <= ROOM:
        return 0.0
    volume_heat = dose.packing * powder.solid_density.value * powder.heat_capacity.value
    flux = drying.surface_heating(surface - ROOM, dry, powder.bed_conductivity.value, volume_heat)
    gone = _wettest(dose, binder) * (1 - binder.solids.value) * binder.dried_share.value
    heat = drying.evaporation_heat(gone, ROOM, surface, WATER_HEAT, WATER_LATENT)
    area = box.length_x.value * box.length_y.value
    return drying.lamp_power(flux, area, heat / dry, box.lamp_efficiency.value)


def _vapour(dose: Dose, binder: Binder, layer: float) -> tuple[float, float]:
    """Flammable vapour [kg/s] and air that thins it [m3/s]; all solvent counts as gone within its layer."""
    vapour = _wettest(dose, binder) * binder.solvent.value / layer
    if vapour <= 0:
        return 0.0, 0.0
    limit = drying.limit_density(binder.solvent_lower_limit.value, binder.solvent_molar_mass.value)
    limit *= drying.limit_factor(binder.bed_temperature.value)
    return vapour, drying.ventilation(vapour, limit, VAPOUR_SHARE)


def _fires(firing: float, stack: Stack, head: Head) -> tuple[Finding, ...]:
    most = head.frequency.value
    if firing <= most:
        return ()
    fastest = pass_clock.fastest_pass(most, stack.pitch_mm[0] * 1e-3)
    return (
        Finding(
            level="stop",
            what="firing frequency",
            text=f"Passes at {into(head.pass_speed.value, 'mm/s'):.0f} mm/s need {firing / 1e3:.1f} kHz; "
            f"the head fires at {most / 1e3:.1f} kHz.",
            value=firing / 1e3,
            limit=most / 1e3,
            unit="kHz",
            source=f"{head.frequency.source}, {head.frequency.where} ({head.frequency.standing})",
            remedy=f"Pass at {into(fastest, 'mm/s'):.0f} mm/s or slower.",
        ),
    )


def _breathes(vapour: float, air: float) -> tuple[Finding, ...]:
    if vapour <= 0:
        return ()
    return (
        Finding(
            level="look",
            what="solvent vapour",
            text=f"While printing, up to {into(vapour, 'g/h'):.3g} g/h of flammable vapour leaves the binder "
            f"if all its solvent evaporates. About {into(air, 'm3/h'):.2g} m3/h of fresh air would hold that "
            "at a quarter of its lower explosive limit; exposure limits usually ask for much more.",
            value=into(vapour, "g/h"),
            unit="g/h",
            source="mass balance; a quarter of the limit after NFPA 86 and EN 1539 (memory)",
            remedy="An estimate for planning only. Local code, the machine's maker and a licensed person "
            "decide on ventilation and ignition sources.",
        ),
    )
