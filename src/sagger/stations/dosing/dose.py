"""The dose of one box: drop, binder, powder."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np

from sagger.goods.binder import Binder
from sagger.goods.dose import Dose
from sagger.goods.figure import weakest
from sagger.goods.head import Head
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack, Tally
from sagger.physics.drops import jetting, wetting
from sagger.physics.powder import reuse
from sagger.stations.dosing import drop_findings, soaking
from sagger.stations.dosing.soaking import BinderHeld, Wet
from sagger.statistics import chance


class Jetted(NamedTuple):
    """The drop that is jetted, and the saturation that it prints."""

    lattice: tuple[float, float]  # of drops [m]
    layer: float  # [m]
    packing: float  # of the bed [-]
    asked: float  # saturation [-]
    wanted: float  # drop that would print it [m3]
    drop: float  # the nearest that the head gives, of full size [m3]
    printed: float  # saturation with that drop [-]
    sizes: tuple[float, ...]  # drop of each level, smallest first [m3]
    flight: jetting.DropNumbers

    def saturation(self, drop: float) -> float:
        """What another drop would print on this lattice [-]."""
        return wetting.saturation(drop, self.lattice, self.layer, self.packing)


def plan(stack: Stack, tally: Tally, powder: Powder, binder: Binder, head: Head, choices: Choices) -> Dose:
    """How much powder and binder one box takes, and whether it will jet and wet.

    Parameters
    ----------
    stack, tally : Stack, Tally
        The layers as a recipe in their box, and what drawing them counted.
    powder, binder, head
        The cards.
    choices : Choices
        `saturation` if the engineer sets it; otherwise the binder card's.

    Returns
    -------
    Dose
        Its drop is that of full saturation, the largest if there are several; binder is the sum over what was
        drawn of each size. With findings: what does not fit, jet or wet, and what to do about it.

    Raises
    ------
    LawError
        If a card's figure makes no sense (no pores, pieces larger than the box).
    """
    jetted = _jetted(stack, powder, binder, head, choices)
    wet = soaking.soaked(jetted.drop, jetted.printed, jetted.lattice, jetted.layer, powder, binder)
    held = soaking.held(wet, jetted.printed, stack, tally, powder)
    findings = (
        *drop_findings.material(powder, binder),
        *drop_findings.layer(jetted.layer, powder),
        *drop_findings.drop(jetted.wanted, jetted.drop, jetted.asked, jetted.printed, head),
        drop_findings.range_of(jetted.saturation, jetted.printed, head),
        *drop_findings.jet(jetted.flight, jetted.drop, binder),
        *drop_findings.wet(wet.drop, wet.layer, binder),
        *drop_findings.bleed(wet.spread, wet.over, powder),
        drop_findings.creep(wet.over, stack),
        *drop_findings.surplus(held.saturation, jetted.printed, held.bleed),
    )
    dose = _dose(stack, tally, (powder, binder, head), jetted, wet, held)
    return dataclasses.replace(dose, findings=findings)


def _jetted(stack: Stack, powder: Powder, binder: Binder, head: Head, choices: Choices) -> Jetted:
    asked = choices.saturation if choices.saturation is not None else binder.saturation.value
    packing, layer = powder.packing.value, stack.layer_mm * 1e-3
    lattice = (stack.pitch_mm[0] * 1e-3, stack.pitch_mm[1] * 1e-3)
    wanted = wetting.drop_for(asked, lattice, layer, packing)
    drop = min(max(wanted, head.drop_least.value), head.drop_most.value)
    return Jetted(
        lattice=lattice,
        layer=layer,
        packing=packing,
        asked=asked,
        wanted=wanted,
        drop=drop,
        printed=wetting.saturation(drop, lattice, layer, packing),
        sizes=_sizes(drop, head),
        flight=_flight(drop, head, binder),
    )


def _dose(
    stack: Stack, tally: Tally, cards: tuple[Powder, Binder, Head], jetted: Jetted, wet: Wet, held: BinderHeld
) -> Dose:
    """The dose, before anything is noticed about it."""
    powder, binder, head = cards
    by_layer = tally.levels @ np.array(jetted.sizes)
    jetted_mass = float(by_layer.sum()) * binder.density.value
    mass = _powder(stack, tally, powder)
    return Dose(
        drop=jetted.drop,
        level_drops=jetted.sizes,
        saturation_asked=jetted.asked,
        saturation=jetted.printed,
        saturation_u=_doubt(jetted.printed, powder, head),
        level_saturations=tuple(jetted.saturation(size) for size in jetted.sizes),
        thin_to=min(1.0, jetted.asked / jetted.printed),
        packing=jetted.packing,
        drops=int(tally.drops.sum()),
        drops_by_layer=tally.drops,
        binder_by_layer=by_layer,
        binder=float(by_layer.sum()),
        binder_most=float(by_layer.max(initial=0.0)),
        binder_mass=jetted_mass,
        solids_mass=jetted_mass * binder.solids.value,
        powder_fed=mass.fed,
        powder_in_box=mass.in_box,
        powder_in_pieces=mass.pieces,
        powder_loose=mass.loose,
        powder_lost=mass.lost,
        powder_back=mass.back,
        reynolds=jetted.flight.reynolds,
        weber=jetted.flight.weber,
        ohnesorge=jetted.flight.ohnesorge,
        pore_radius=wet.radius,
        capillary_pressure=wet.pressure,
        soak_time=wet.drop,
        layer_soak=wet.layer,
        spread=wet.spread,
        overreach=wet.over,
        equilibrium=held.saturation,
        bleed_most=held.bleed,
        standing=_standing(powder, binder, head),
        findings=(),
    )


def _standing(powder: Powder, binder: Binder, head: Head) -> str:
    """Of the weakest of the figures that decide how a drop flies, lands and soaks in."""
    liquid = (binder.density, binder.viscosity, binder.surface_tension, binder.contact_angle)
    return weakest(*liquid, powder.packing, powder.d10, powder.d50, powder.d90, head.drop_speed)


def _doubt(printed: float, powder: Powder, head: Head) -> float:
    """Standard uncertainty of a saturation: pores from the packing, volume of the drop (JCGM 100, 5.1.2)."""
    pores = powder.packing.u / (1 - powder.packing.value)
    return printed * chance.combined((pores, head.drop.u / head.drop.value))


def _flight(drop: float, head: Head, binder: Binder) -> jetting.DropNumbers:
    """Reynolds, Weber and Ohnesorge numbers of the largest drop in flight."""
    return jetting.drop_numbers(
        jetting.drop_diameter(drop),
        head.drop_speed.value,
        binder.density.value,
        binder.viscosity.value,
        binder.surface_tension.value,
    )


def _sizes(drop: float, head: Head) -> tuple[float, ...]:
    """Volume of the drop of each level, smallest first [m3].

    The waveform scales all levels alike, so each keeps its share of the largest as on the head card.
    """
    if not head.levels:
        return (drop,)
    return tuple(drop * level.value / head.levels[-1].value for level in head.levels)


def _powder(stack: Stack, tally: Tally, powder: Powder) -> reuse.Balance:
    """Mass balance of the layers that are drawn."""
    box = stack.layout.box
    bed = powder.packing.value * powder.solid_density.value
    layer = stack.layer_mm * 1e-3
    in_box = box.length_x.value * box.length_y.value * stack.count * layer * bed
    pieces = float(tally.section_mm2.sum()) * 1e-6 * layer * bed
    return reuse.balance(in_box, pieces, box.overfeed.value, powder.loss.value)
