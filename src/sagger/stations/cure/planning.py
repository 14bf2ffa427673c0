"""How long one box stays in the oven."""

from __future__ import annotations

from math import inf

from sagger.errors import StopError
from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.cured import Cured
from sagger.goods.layout import Layout
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder
from sagger.physics import conduction, curing
from sagger.stations.cure import rules
from sagger.units import into

DEGREE = 0.95  # of cure, asked of the core: what a binder card's cure_t95 stands for


def plan(layout: Layout, powder: Powder, binder: Binder, oven: Oven) -> Cured:
    """When the core of the box is cured.

    Parameters
    ----------
    layout : Layout
        How high the box is filled, and which box.
    powder, binder, oven
        The cards. The oven is set to what the binder asks for, or as high as it goes.

    Returns
    -------
    Cured
        Oven time is the longer of "core at cure temperature" and "core 95 % cured".

    Raises
    ------
    StopError
        If the oven is set no higher than the binder's cure temperature: the core would never get there.

    Source
    ------
    Heat: product of slabs, `physics.conduction`. Cure: first order, `physics.curing`. Not counted: walls
    of the box, printed pieces, evaporating solvent; one run with a thermocouple in the core tells all three.
    """
    target = binder.cure_temperature.value
    set_point = min(binder.oven_temperature.value, oven.temperature.value)
    block = _filled(layout, powder, oven, set_point)
    core, corner = conduction.core(block), _corner(layout.box)
    at_temperature = conduction.time_to_temperature(block, core, target)
    if at_temperature == inf:
        what = f"the oven is set to {into(set_point, 'degC'):.0f} degC, the binder cures at"
        raise StopError(
            f"{what} {into(target, 'degC'):.0f} degC; raise the set point or choose another binder"
        )
    energy, needed = binder.cure_energy.value, binder.cure_t95.value
    cured = curing.cure_time(block, core, needed, energy, target)
    hold = max(at_temperature, cured)
    seen = curing.seen_time(block, corner, hold, energy, target)
    return Cured(
        oven_temperature=set_point,
        core_temperature=target,
        time_to_temperature=at_temperature,
        time_to_cure=cured,
        degree=DEGREE,
        corner_equivalent=seen,
        hold=hold,
        cool=oven.cool_time.value,
        findings=(
            *rules.fit(layout.box, oven),
            *rules.early(at_temperature, cured, binder),
            *rules.corner(seen, binder),
            *rules.vapour(binder),
        ),
    )


def _filled(layout: Layout, powder: Powder, oven: Oven, set_point: float) -> conduction.Block:
    """The box as filled: its floor, and powder to just above the highest piece."""
    box, packing = layout.box, powder.packing.value
    height = min(layout.height_mm * 1e-3 + box.floor_gap.value, box.length_z.value)
    return conduction.Block(
        sides=(box.length_x.value, box.length_y.value, height),
        conductivity=powder.bed_conductivity.value,
        volume_heat=packing * powder.solid_density.value * powder.heat_capacity.value,
        film=oven.heat_transfer.value,
        start=oven.ambient.value,
        oven=set_point,
    )


def _corner(box: Box) -> tuple[float, float, float]:
    """The place nearest to a corner at which a piece may lie, as depth below three faces [m]."""
    wall, floor = box.wall_gap.value, box.floor_gap.value
    return wall, wall, floor
