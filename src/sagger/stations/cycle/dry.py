"""Heat, vapour and what stays wet of one box."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.dose import Dose
from sagger.goods.finding import Against, Finding, advice, risk
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack
from sagger.goods.timetable import Drying
from sagger.physics.heat import drying
from sagger.units import into

ROOM = 298.15  # binder, powder and air before drying [K]; common practice, no source
HUMIDITY = 0.5  # of the room's air [-]; common practice, no source
FILM = 25.0  # heat transfer of the bed's surface to air [W/(m2 K)]; assumed, between still and blown air
AIR_DENSITY, AIR_HEAT, LEWIS = (
    1.11,
    1007.0,
    0.85,
)  # of air near 45 degC; Lewis number of water vapour (memory)
WATER_HEAT = 4.18e3  # of liquid water, 25 to 60 degC [J/(kg K)]; steam tables
WATER_LATENT = 2.36e6  # of evaporation near 60 degC [J/kg]; steam tables. Solvents take less: an upper bound
VAPOUR_SHARE = 0.25  # of the lower explosive limit; NFPA 86 as quoted for OSHA 1910.107
DEPTHS = 60  # layers below the top that a lamp is followed into
DEFERRAL = (
    "An estimate for planning only. Local code, the machine's maker and a licensed person decide on "
    "ventilation and ignition sources."
)


def dried(stack: Stack, dose: Dose, powder: Powder, binder: Binder, box: Box, layer: float) -> Drying:
    """What drying takes and what it leaves; `layer` is the time of the longest layer [s]."""
    dry, wettest = binder.dry_time.value, dose.binder_most * binder.density.value
    power = _lamp(dose, powder, binder, box)
    flux, least = _carried(stack, dose, binder)
    water = dose.binder_by_layer * binder.density.value * binder.water.value
    went = drying.stack(water, _leaves(stack, dose, powder, binder, flux))
    vapour = wettest * binder.solvent.value / layer
    burst = wettest * binder.solvent.value / (dry if dry > 0 else layer)
    solvent = dose.binder_mass * binder.solvent.value
    return Drying(
        lamp_power=power,
        lamp_energy=power * dry,
        flux=flux,
        least=least,
        gone=went.gone,
        water_jetted=float(water.sum()),
        water_left=float(went.left.sum()),
        solvent=solvent,
        vapour=vapour,
        burst=burst,
        ventilation=_air(vapour, binder),
        burst_ventilation=_air(burst, binder),
        standing="assumed",  # FILM, HUMIDITY and ROOM are, whatever the cards say
        oven_air=drying.batch_air(solvent / binder.density.value),
    )


def _lamp(dose: Dose, powder: Powder, binder: Binder, box: Box) -> float:
    """Electric power while drying [W]; 0 if the layer is not dried."""
    dry, surface = binder.dry_time.value, binder.bed_temperature.value
    if dry <= 0 or surface <= ROOM:
        return 0.0
    volume_heat = _volume_heat(dose, powder)
    flux = drying.surface_heating(surface - ROOM, dry, powder.bed_conductivity.value, volume_heat)
    wettest = dose.binder_most * binder.density.value
    gone = wettest * (1 - binder.solids.value) * binder.dried_share.value
    heat = drying.evaporation_heat(gone, ROOM, surface, WATER_HEAT, WATER_LATENT)
    area = box.length_x.value * box.length_y.value
    return drying.lamp_power(flux, area, heat / dry, box.lamp_efficiency.value)


def _carried(stack: Stack, dose: Dose, binder: Binder) -> tuple[float, float]:
    """Water that the air carries from a wet surface [kg/(m2 s)], and the least time for what shall leave."""
    if binder.water.value <= 0 or binder.dry_time.value <= 0:
        return 0.0, 0.0
    surface = drying.water_vapour(binder.bed_temperature.value)
    flux = drying.drying_flux(_transfer(), surface, HUMIDITY * drying.water_vapour(ROOM))
    wet = dose.saturation * (1 - dose.packing) * stack.layer_mm * 1e-3 * binder.density.value
    leaving = wet * min((1 - binder.solids.value) * binder.dried_share.value, binder.water.value)
    return flux, leaving / flux if flux > 0 else np.inf


def _leaves(stack: Stack, dose: Dose, powder: Powder, binder: Binder, flux: float) -> np.ndarray:
    """Share of its water that a layer loses in its own drying, in the next layer's, and so on.

    Below the top less leaves: it is cooler there, and vapour has to come up through the powder above. The
    bed counts as cold between two dryings, so what is left errs on the wet side.
    """
    dry, water = binder.dry_time.value, binder.water.value
    if flux <= 0:
        return np.zeros(1)
    share = min(1.0, (1 - binder.solids.value) * binder.dried_share.value / water)
    _, least = _carried(stack, dose, binder)
    own = share * min(1.0, dry / least)
    depth = np.arange(DEPTHS, dtype=np.float64) * (stack.layer_mm * 1e-3)
    warm = drying.warmth_at(depth, dry, powder.bed_conductivity.value, _volume_heat(dose, powder))
    surface = binder.bed_temperature.value
    room = HUMIDITY * drying.water_vapour(ROOM)
    driven = [drying.water_vapour(ROOM + (surface - ROOM) * each) - room for each in warm]
    way = drying.vapour_way(depth, _transfer(), 1 - dose.packing, surface)
    return np.asarray(own * np.array(driven) / driven[0] * way)


def _transfer() -> float:
    return drying.mass_transfer(FILM, AIR_DENSITY, AIR_HEAT, LEWIS)


def _volume_heat(dose: Dose, powder: Powder) -> float:
    return dose.packing * powder.solid_density.value * powder.heat_capacity.value


def _air(vapour: float, binder: Binder) -> float:
    """Air that holds a rate of flammable vapour at a quarter of its lower explosive limit [m3/s]."""
    if vapour <= 0:
        return 0.0
    limit = drying.limit_density(binder.solvent_lower_limit.value, binder.solvent_molar_mass.value)
    limit *= drying.limit_factor(binder.bed_temperature.value)
    return drying.ventilation(vapour, limit, VAPOUR_SHARE)


def noticed(dry: Drying, binder: Binder) -> tuple[Finding, ...]:
    """Findings about drying and vapour."""
    return (*_slow_air(dry, binder), *_breathes(dry))


def _slow_air(dry: Drying, binder: Binder) -> Iterator[Finding]:
    given = binder.dry_time.value
    if dry.flux <= 0 or dry.least <= given:
        return
    yield risk(
        "drying limited by air",
        f"Air over the bed carries about {into(dry.flux, 'g/m2.s'):.2g} g/m2.s of water; what shall "
        f"leave needs {dry.least:.1f} s, the layer is dried for {given:.1f} s.",
        Against(dry.least, given, "s", "film coefficient of 25 W/m2.K (assumed), Chilton and Colburn 1934"),
        "Dry longer or warmer, or move more air over the bed as its maker allows.",
    )


def _breathes(dry: Drying) -> Iterator[Finding]:
    if dry.vapour <= 0:
        return
    vapour, burst = into(dry.vapour, "g/h"), into(dry.burst, "g/h")
    air, more = into(dry.ventilation, "m3/h"), into(dry.burst_ventilation, "m3/h")
    yield advice(
        "solvent vapour",
        f"While printing, up to {vapour:.3g} g/h of flammable vapour leaves the binder if all its "
        f"solvent evaporates, up to {burst:.3g} g/h while a layer dries. About {air:.2g} and {more:.2g} "
        "m3/h of fresh air would hold that at a quarter of its lower explosive limit; exposure limits "
        f"usually ask for much more. Up to {into(dry.solvent, 'g'):.3g} g goes into the oven.",
        Against(
            burst, None, "g/h", "mass balance; a quarter of the limit after NFPA 86 and EN 1539 (memory)"
        ),
        DEFERRAL,
    )
