"""A schedule as rows that people read: one for each build, with names and moments."""

from __future__ import annotations

from sagger.goods.asked import PlannedBuild
from sagger.goods.schedule import Schedule
from sagger.goods.stand import Stand
from sagger.goods.workload import Workload
from sagger.physics import workclock
from sagger.stations.schedule.gathered import written
from sagger.stations.schedule.worth import freed, portion_ends


def planned_builds(
    stand: Stand, work: Workload, schedule: Schedule, names: tuple[tuple[str, str], ...]
) -> tuple[PlannedBuild, ...]:
    """Where each build goes and when, in the order in which they are printed."""
    rows = [
        _row(stand, work, schedule, build, names[build]) for build in schedule.start.argsort(kind="stable")
    ]
    return tuple(rows)


def _row(stand: Stand, work: Workload, schedule: Schedule, build: int, name: tuple[str, str]) -> PlannedBuild:
    base, heats, loads = work.base, schedule.heats, schedule.loads
    start, heat, load = int(schedule.start[build]), int(schedule.heat[build]), int(schedule.load[build])
    clock = work.crews.clocks[schedule.crew[build]]
    powders = sorted({powder for printer in stand.printers for powder in printer.powders})
    fired = load >= 0
    return PlannedBuild(
        order=name[0],
        build=name[1],
        powder=powders[work.builds.powder[build]],
        printer=stand.printers[schedule.printer[build]].name,
        starts=written(base, start),
        printed=written(base, start + int(work.builds.printing[build])),
        oven=stand.ovens[heats.machine[heat]].name,
        heat=heat,
        heated_from=written(base, heats.start[heat]),
        heated_to=written(base, heats.start[heat] + heats.length[heat]),
        crew=stand.crews[schedule.crew[build]].name,
        bench_from=written(base, int(workclock.moment(clock, schedule.bench[build]))),
        emptied=written(base, int(freed(work, schedule)[build])),
        furnace=stand.furnaces[loads.machine[load]].name if fired else "",
        load=load,
        fired_from=written(base, loads.start[load]) if fired else "",
        ready=written(base, int(portion_ends(work, schedule)[build])),
    )
