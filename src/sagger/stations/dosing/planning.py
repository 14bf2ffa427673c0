"""The dose of one box: drop, binder, powder."""

from __future__ import annotations

import numpy as np

from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.dose import Dose
from sagger.goods.figure import weakest
from sagger.goods.head import Head
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack, Tally
from sagger.physics import chance, jetting, reuse, wetting
from sagger.stations.dosing import rules, soaking


def plan(
    stack: Stack,
    tally: Tally,
    powder: Powder,
    binder: Binder,
    head: Head,
    box: Box,
    choices: Choices,
) -> Dose:
    """How much powder and binder one box takes, and whether it will jet and wet.

    Parameters
    ----------
    stack, tally : Stack, Tally
        The layers as a recipe, and what drawing them counted.
    powder, binder, head, box
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
    asked = choices.saturation if choices.saturation is not None else binder.saturation.value
    packing, layer = powder.packing.value, stack.layer_mm * 1e-3
    lattice = (stack.pitch_mm[0] * 1e-3, stack.pitch_mm[1] * 1e-3)
    wanted = wetting.drop_for(asked, lattice, layer, packing)
    drop = min(max(wanted, head.drop_least.value), head.drop_most.value)
    printed = wetting.saturation(drop, lattice, layer, packing)
    sizes = _sizes(drop, head)
    by_layer = tally.levels @ np.array(sizes)
    mass = _powder(stack, tally, powder, box)
    jet, wet = _jet(drop, head, binder), soaking.soaked(drop, printed, lattice, layer, powder, binder)
    held = soaking.held(wet, printed, stack, tally, powder)
    return Dose(
        drop=drop,
        level_drops=sizes,
        saturation_asked=asked,
        saturation=printed,
        saturation_u=_doubt(printed, powder, head),
        level_saturations=tuple(wetting.saturation(size, lattice, layer, packing) for size in sizes),
        thin_to=min(1.0, asked / printed),
        packing=packing,
        drops=int(tally.drops.sum()),
        drops_by_layer=tally.drops,
        binder_by_layer=by_layer,
        binder=float(by_layer.sum()),
        binder_most=float(by_layer.max(initial=0.0)),
        binder_mass=float(by_layer.sum()) * binder.density.value,
        solids_mass=float(by_layer.sum()) * binder.density.value * binder.solids.value,
        powder_fed=mass.fed,
        powder_in_box=mass.in_box,
        powder_in_pieces=mass.pieces,
        powder_loose=mass.loose,
        powder_lost=mass.lost,
        powder_back=mass.back,
        reynolds=jet.reynolds,
        weber=jet.weber,
        ohnesorge=jet.ohnesorge,
        pore_radius=wet.radius,
        capillary_pressure=wet.pressure,
        soak_time=wet.drop,
        layer_soak=wet.layer,
        spread=wet.spread,
        overreach=wet.over,
        equilibrium=held.saturation,
        bleed_most=held.bleed,
        standing=_standing(powder, binder, head),
        findings=(
            *rules.material(powder, binder),
            *rules.layer(layer, powder),
            *rules.drop(wanted, drop, asked, printed, head),
            *rules.range_of(lattice, layer, packing, printed, head),
            *rules.jet(jet),
            *rules.wet(wet.drop, wet.layer, binder),
            *rules.bleed(wet.spread, wet.over, powder),
            rules.creep(wet.over, stack),
            *rules.surplus(held.saturation, printed, held.bleed),
        ),
    )


def _standing(powder: Powder, binder: Binder, head: Head) -> str:
    """Of the weakest of the figures that decide how a drop flies, lands and soaks in."""
    liquid = (binder.density, binder.viscosity, binder.surface_tension, binder.contact_angle)
    return weakest(*liquid, powder.packing, powder.d10, powder.d50, powder.d90, head.drop_speed)


def _doubt(printed: float, powder: Powder, head: Head) -> float:
    """Standard uncertainty of a saturation: pores from the packing, volume of the drop (JCGM 100, 5.1.2)."""
    pores = powder.packing.u / (1 - powder.packing.value)
    return printed * chance.combined((pores, head.drop.u / head.drop.value))


def _jet(drop: float, head: Head, binder: Binder) -> jetting.DropNumbers:
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


def _powder(stack: Stack, tally: Tally, powder: Powder, box: Box) -> reuse.Balance:
    """Mass balance of the layers that are drawn."""
    bed = powder.packing.value * powder.solid_density.value
    layer = stack.layer_mm * 1e-3
    in_box = box.length_x.value * box.length_y.value * stack.count * layer * bed
    pieces = float(tally.section_mm2.sum()) * 1e-6 * layer * bed
    return reuse.balance(in_box, pieces, box.overfeed.value, powder.loss.value)
