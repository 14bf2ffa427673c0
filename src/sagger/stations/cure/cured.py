"""How long one box stays in the oven, and how its pieces fare there."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.goods.binder import Binder
from sagger.goods.cured import Conduction, Cured, OvenCourse, Shorter
from sagger.goods.dose import Dose
from sagger.goods.figure import Figure
from sagger.goods.layout import Layout
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder
from sagger.physics.heat.box_heat import BoxRun, Moment, Programme, cure, oven_at, reached
from sagger.physics.heat.box_heat_kinetics import CureKinetics, degree, first_order_rate
from sagger.physics.heat.box_heat_propose import ProgrammeLimits, propose
from sagger.stations.cure import box_findings, filling
from sagger.stations.cure.filling import Conductivity
from sagger.stations.cure.heating import Case, Heated, Unsure, cooling_guess, heated, known
from sagger.stations.cure.in_room import set_in_room
from sagger.stations.cure.programme import AT_ONCE, cooled, held, rise
from sagger.tick import Tick, silent
from sagger.units import into

DEGREE = 0.95  # of cure, asked of the last piece: what a binder card's cure_t95 stands for
COOLING = 4.0  # a cooling run ends after so many times the block's own time


class Cooled(NamedTuple):
    """The whole stay in the oven, once more, as it is planned."""

    programme: Programme
    run: BoxRun
    cool: float  # [s]
    end: float  # of what was run [s]


def plan(
    layout: Layout, dose: Dose, powder: Powder, binder: Binder, oven: Oven, *, tick: Tick = silent
) -> Cured:
    """When the last piece of the box is cured.

    Parameters
    ----------
    layout : Layout
        Which pieces lie where, and the box around them.
    dose : Dose
        How dense the bed lies, and how much binder is in the pieces.
    powder, binder, oven
        The cards. The oven is set to what the binder asks for, or as high as it goes.

    Returns
    -------
    Cured
        Heating time is the longer of "every piece at cure temperature" and "every piece 95 % cured". In a
        cell without an oven a binder that sets cold stands for the time on its card.

    Raises
    ------
    StopError
        If the oven is set no higher than the binder's cure temperature: the core would never get there.

    Source
    ------
    Heat and cure on voxels: `heat.box_heat`. Not counted: heat of cure, evaporating solvent and what its
    vapour carries; one run with a thermocouple in the core tells both, see docs/why/cure-solver.md.
    """
    set_point = min(binder.oven_temperature.value, oven.temperature.value)
    if binder.cold_cure_time is not None and oven.temperature.value <= oven.ambient.value:
        return set_in_room(layout, dose, powder, binder, oven)
    _refuse_cold(set_point, binder)
    bed = filling.conductivity(powder, dose.packing, oven, set_point)
    case = _case(layout, dose, powder, binder, oven, bed)
    first, last, change = heated(layout, case, tick)
    cooling = _cooled(case, last, oven, tick)
    most = binder.cure_most.value if binder.cure_most else box_findings.OVERCURE * binder.cure_t95.value
    shorter = _shorter(case, last, binder, oven, most, tick)
    sure = known(case, first, change, _unsure(bed, powder, binder, oven), tick)
    seen = float(np.interp(last.hold, cooling.run.times, cooling.run.most))
    return Cured(
        oven_temperature=set_point,
        core_temperature=case.target,
        time_to_temperature=last.warm,
        time_to_cure=last.cured,
        degree=DEGREE,
        final_degree=float(degree(case.kinetics, cooling.run.least[-1])),
        corner_equivalent=seen,
        corner_most=most,
        hold=last.hold,
        hold_u=sure.u,
        shares=sure.shares,
        cool=cooling.cool,
        programme=_corners(cooling.programme, cooling.end),
        last=filling.spot(layout, last.seen, last.run.last),
        hottest=filling.spot(layout, last.seen, last.run.corner),
        shorter=shorter,
        course=_course(cooling, case.kinetics),
        bed=_conduction(bed, case, last),
        findings=(
            *box_findings.fit(filling.outer(layout.box), oven),
            *box_findings.early(last.warm, last.cured, binder),
            *box_findings.corner(seen, most, binder),
            *box_findings.shorter(shorter, last.cured, most, binder),
            *box_findings.vapour(binder, dose),
        ),
        degrees=degree(case.kinetics, filling.least(layout, last.seen, cooling.run.equivalent)),
    )


def _refuse_cold(set_point: float, binder: Binder) -> None:
    target = binder.cure_temperature.value
    if set_point <= target:
        what = f"the oven is set to {into(set_point, 'degC'):.0f} degC, the binder cures at"
        raise StopError(
            f"{what} {into(target, 'degC'):.0f} degC; raise the set point or choose another binder"
        )


def _case(layout: Layout, dose: Dose, powder: Powder, binder: Binder, oven: Oven, bed: Conductivity) -> Case:
    loose, piece = filling.materials(bed, layout, dose, powder, binder)
    target, rate = binder.cure_temperature.value, first_order_rate(binder.cure_t95.value, DEGREE)
    set_point = min(binder.oven_temperature.value, oven.temperature.value)
    return Case(
        loose=loose,
        piece=piece,
        faces=filling.faces(layout.box, oven),
        kinetics=CureKinetics(binder.cure_energy.value, target, rate, asked=DEGREE),
        rise=rise(oven, binder, set_point),
        start=oven.ambient.value,
        target=target,
    )


def _conduction(bed: Conductivity, case: Case, last: Heated) -> Conduction:
    across, along, high = last.seen.shares.shape
    return Conduction(
        conductivity=bed.value,
        conductivity_u=bed.u,
        origin=bed.origin,
        piece_conductivity=case.piece.conductivity,
        voxels=(across, along, high),
    )


def _cooled(case: Case, last: Heated, oven: Oven, tick: Tick) -> Cooled:
    """The programme planned, run in full: held as long as needed, then cooled until the box may be opened."""
    heating = held(case.rise, last.hold)
    if oven.open_temperature is None:
        run = cure(last.box, heating, tick=tick)
        return Cooled(heating, run, oven.cool_time.value, last.hold)
    open_at = oven.open_temperature.value
    whole = cooled(heating, oven, COOLING * (cooling_guess(last.seen, case, open_at) + AT_ONCE))

    def done(now: Moment) -> bool:
        return bool(now.time > last.hold and now.temperature.max() <= open_at)

    run = cure(last.box, whole, until=done, tick=tick)
    after = run.times >= last.hold
    cool = reached(run.times[after], -run.warmest[after], -open_at) - last.hold
    if cool == inf:
        what = f"the box never cools to {into(open_at, 'degC'):.0f} degC"
        raise StopError(f"{what} in a room of {into(case.start, 'degC'):.0f} degC; mend the oven card")
    return Cooled(whole, run, cool, last.hold + cool)


def _shorter(case: Case, last: Heated, binder: Binder, oven: Oven, most: float, tick: Tick) -> Shorter | None:
    """A programme that cures the last piece sooner, no hotter than binder and oven allow."""
    usual = case.rise[-1][1]
    allowed = binder.oven_temperature_most
    hottest = min(allowed.value, oven.temperature.value) if allowed else usual
    ramp = oven.ramp.value if oven.ramp else (usual - case.start) / AT_ONCE
    limits = ProgrammeLimits(hottest=max(hottest, usual), ramp=ramp, corner=most)
    proposal = propose(last.box, limits, (last.programme, last.run), tick=tick)
    if proposal is None:
        return None
    return Shorter(
        programme=tuple(zip(*proposal.programme, strict=True)),
        time_to_cure=proposal.run.cured_after,
        corner_equivalent=proposal.run.corner_equivalent,
        saved=proposal.saved,
    )


def _unsure(bed: Conductivity, powder: Powder, binder: Binder, oven: Oven) -> Unsure:
    own = powder.green_conductivity
    return Unsure(
        bed=bed.u / bed.value,
        piece=_relative(own) if own else 0.0,
        film=_relative(oven.heat_transfer),
        packing=_relative(powder.packing),
        cure_time=_relative(binder.cure_t95),
    )


def _relative(figure: Figure) -> float:
    return figure.u / figure.value


def _corners(programme: Programme, end: float) -> tuple[tuple[float, float], ...]:
    """The corners of a programme up to `end` [s]."""
    kept = [(time, kelvin) for time, kelvin in zip(*programme, strict=True) if time < end]
    return (*kept, (end, oven_at(programme, end)))


def _course(cooling: Cooled, kinetics: CureKinetics) -> OvenCourse:
    run = cooling.run
    shown = run.times <= cooling.end
    time = run.times[shown]
    return OvenCourse(
        time=time,
        oven=np.array([oven_at(cooling.programme, at) for at in time]),
        core=run.coldest[shown],
        corner=run.hottest[shown],
        core_degree=degree(kinetics, run.least[shown]),
        corner_degree=degree(kinetics, run.most[shown]),
    )
