"""The cell as a constraint model: what is free of a standing schedule, beside what stays.

Nothing free is the schedule itself; everything free is the whole problem, with a bound; a dozen builds that
meet are a neighbourhood.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from numpy import ndarray

from sagger.goods.schedule import Standing
from sagger.goods.workload import NOT_FIRED, Workload
from sagger.physics import workclock
from sagger.stations.schedule.calendars import Bench, bench_work
from sagger.stations.schedule.scope import BatchRows, CellModel, Scope, emptied_at, scope_of, standstills
from sagger.stations.schedule.solver import MachineRow, alternative, windows
from sagger.stations.schedule.together import heats, loads

if TYPE_CHECKING:
    from sagger.stations.schedule.scope import Interval, Linear, Literal


def whole_or_part(work: Workload, stands: Standing, last: int) -> CellModel:
    """A model of what `stands` leaves free; nothing free begins after `last` [quarters]."""
    scope = scope_of(work, stands, last)
    prints = _prints(scope)
    _change_overs(scope, prints)
    opened: dict[int, Linear] = {}
    heat_rows = heats(scope, prints, opened)
    benches, freed = _benches(scope, opened)
    _boxes(scope, prints, freed)
    _powder(scope, prints, freed)
    ends: dict[int, list[Linear]] = {}
    load_rows = loads(scope, freed, ends)
    late = _lateness(scope, ends)
    cost = _cost(scope, heat_rows, load_rows, late)
    scope.model.minimize(cost)
    return CellModel(scope, prints, heat_rows, benches, load_rows, late, cost)


def _prints(scope: Scope) -> dict[int, MachineRow]:
    """A start and a printer for each build that is not printed; one print at a time on each printer."""
    work, stands, model = scope.work, scope.stands, scope.model
    rows: dict[int, MachineRow] = {}
    busy = [standstills(scope, printer) for printer in range(len(work.printers.holds))]
    for build in (number for number in scope.builds if not stands.printed[number]):
        earliest, length = max(int(work.builds.release[build]), stands.now), int(work.builds.printing[build])
        start = model.new_int_var_from_domain(windows(work.printers.starts, earliest, scope.last), "")
        options = [(int(printer), length) for printer in np.flatnonzero(work.builds.printers[build])]
        rows[build], intervals = alternative(model, start, options, scope.last + length)
        for (printer, _), interval in zip(options, intervals, strict=True):
            busy[printer].append(interval)
    for build in (int(number) for number in np.flatnonzero(stands.printed)):
        begin, length = int(stands.schedule.start[build]), int(work.builds.printing[build])
        if begin + length > scope.first:
            printer = int(stands.schedule.printer[build])
            busy[printer].append(model.new_fixed_size_interval_var(begin, length, ""))
    for rows_of_one in busy:
        model.add_no_overlap(rows_of_one)
    return rows


def _change_overs(scope: Scope, prints: dict[int, MachineRow]) -> None:
    """Change-overs between any two prints of a printer: enough where the triangle inequality holds."""
    work, stands, model = scope.work, scope.stands, scope.model
    powder, change = work.builds.powder, work.printers.change
    for one, other in combinations(prints, 2):
        there, back = (int(change[powder[a], powder[b]]) for a, b in ((one, other), (other, one)))
        if there or back:
            before = model.new_bool_var("")
            for printer in set(prints[one].machine) & set(prints[other].machine):
                both = [_on(prints[build], printer) for build in (one, other)]
                model.add(prints[other].start >= prints[one].end + there).only_enforce_if(before, *both)
                model.add(prints[one].start >= prints[other].end + back).only_enforce_if(~before, *both)
    longest = int(change.max(initial=0))
    for fixed in (int(each) for each in np.flatnonzero(stands.printed)):
        begin = int(stands.schedule.start[fixed])
        end = begin + int(work.builds.printing[fixed])
        if end + longest > scope.first:
            _beside_fixed(scope, prints, fixed, (begin, end))
    for printer, held in enumerate(work.printers.holds):
        if held < 0:
            continue
        for build, row in prints.items():
            if printer in row.machine and change[held, powder[build]]:
                on = _on(row, printer)
                model.add(row.start >= int(change[held, powder[build]])).only_enforce_if(on)


def _beside_fixed(scope: Scope, prints: dict[int, MachineRow], fixed: int, stretch: tuple[int, int]) -> None:
    """Change-overs between free prints and one that stays."""
    work, model = scope.work, scope.model
    powder, change = work.builds.powder, work.printers.change
    printer = int(scope.stands.schedule.printer[fixed])
    for build, row in prints.items():
        there, back = int(change[powder[fixed], powder[build]]), int(change[powder[build], powder[fixed]])
        if (there or back) and printer in row.machine:
            on, after = _on(row, printer), model.new_bool_var("")
            model.add(row.start >= stretch[1] + there).only_enforce_if(after, on)
            model.add(row.end + back <= stretch[0]).only_enforce_if(~after, on)


def _on(row: MachineRow, machine: int) -> Literal:
    return row.on[row.machine.index(machine)]


def _benches(scope: Scope, opened: dict[int, Linear]) -> tuple[dict[int, Bench], dict[int, Linear]]:
    """Bench work on the clock of a crew, and the moment each box is empty."""
    work, stands, model = scope.work, scope.stands, scope.model
    benches: dict[int, Bench] = {}
    ends = emptied_at(work, stands)
    freed: dict[int, Linear] = {build: ends[build] for build in scope.builds if build in ends}
    tasks: list[list[Interval]] = [[] for _ in work.crews.people]
    for build in (each for each in scope.builds if not stands.emptied[each]):
        crews = [int(crew) for crew in np.flatnonzero(work.builds.crews[build])]
        task = crews, int(work.builds.hands[build])
        bench = bench_work(model, work.crews, task, (scope.first, scope.last))
        for crew, interval in bench.rows.items():
            tasks[crew].append(interval)
        model.add(bench.begins >= opened[build])
        model.add(bench.begins >= stands.now)
        benches[build], freed[build] = bench, bench.ends
    for done in np.flatnonzero(stands.emptied):
        crew, begin = int(stands.schedule.crew[done]), int(stands.schedule.bench[done])
        if begin + work.builds.hands[done] > workclock.worked(work.crews.clocks[crew], scope.first):
            hands = int(work.builds.hands[done])
            tasks[crew].append(model.new_fixed_size_interval_var(begin, hands, ""))
    for crew, people in enumerate(work.crews.people):
        model.add_cumulative(tasks[crew], [1] * len(tasks[crew]), int(people))
    return benches, freed


def _boxes(scope: Scope, prints: dict[int, MachineRow], freed: dict[int, Linear]) -> None:
    """Each build holds a box from its print to the end of its bench work."""
    work, stands, model = scope.work, scope.stands, scope.model
    ends = emptied_at(work, stands)
    rows: list[list[Interval]] = [[] for _ in work.boxes.number]
    for build in sorted({*scope.builds, *ends}):
        if build in ends and ends[build] <= scope.first:
            continue
        end = ends[build] if build in ends else freed[build]
        start = prints[build].start if build in prints else int(stands.schedule.start[build])
        held = model.new_int_var(0, 2 * len(work.printers.starts), "")
        rows[int(work.builds.box[build])].append(model.new_interval_var(start, held, end, ""))
    for size, number in enumerate(work.boxes.number):
        model.add_cumulative(rows[size], [1] * len(rows[size]), int(number))


def _powder(scope: Scope, prints: dict[int, MachineRow], freed: dict[int, Linear]) -> None:
    """Never more powder taken than is on the shelf."""
    work, stands = scope.work, scope.stands
    stock, builds = work.stock, work.builds
    ends = emptied_at(work, stands)
    for powder in np.flatnonzero(stock.counted):
        times: list[Linear] = [int(at) for kind, at, _ in stock.deliveries if kind == powder]
        amounts = [int(amount) for kind, _, amount in stock.deliveries if kind == powder]
        for build in (int(each) for each in np.flatnonzero(builds.powder == powder)):
            if build in prints or stands.printed[build]:
                end = freed[build] if build in freed else ends[build]
                times.append(prints[build].start if build in prints else int(stands.schedule.start[build]))
                times.append(end + stock.sieving)
                amounts += [-int(builds.fed[build]), int(builds.back[build])]
        if prints:
            scope.model.add_reservoir_constraint(times, amounts, 0, sum(map(abs, amounts)))


def _lateness(scope: Scope, ends: dict[int, list[Linear]]) -> dict[int, Literal]:
    """How late each order with anything free is at least; what is fixed of it counts too."""
    work, late = scope.work, {}
    fixed = fixed_ends(work, scope.stands)
    for order, mine in ends.items():
        due = int(work.wishes.due[order])
        least = max(0, int(fixed[order]) - due)
        late[order] = scope.model.new_int_var(least, least + 4 * len(work.printers.starts), "")
        for end in mine:
            scope.model.add(late[order] >= end - due)
    return late


def fixed_ends(work: Workload, stands: Standing) -> ndarray:
    """End of the last portion of each order that stays; 0 if none does."""
    ends, loads_now = np.zeros(len(work.wishes.due), np.int64), stands.schedule.loads
    for portion in np.flatnonzero(stands.fired):
        run, order = stands.schedule.load[portion], work.portions.order[portion]
        ends[order] = max(ends[order], loads_now.start[run] + loads_now.length[run])
    emptied = emptied_at(work, stands)
    for portion in np.flatnonzero(work.portions.family == NOT_FIRED):
        order = work.portions.order[portion]
        ends[order] = max(ends[order], emptied.get(int(work.portions.build[portion]), 0))
    return ends


def _cost(scope: Scope, heat_rows: BatchRows, load_rows: BatchRows, late: dict[int, Literal]) -> Linear:
    """What the schedule will cost, what stays of it included."""
    work, stands, prices = scope.work, scope.stands, scope.work.prices
    weight = work.wishes.weight
    over = np.maximum(0, fixed_ends(work, stands) - work.wishes.due) * weight
    fixed = prices.late * sum(int(over[order]) for order in range(len(over)) if order not in late)
    for members, runs, price in (
        (stands.schedule.heat[stands.heated], stands.schedule.heats, prices.heating),
        (stands.schedule.load[stands.fired], stands.schedule.loads, prices.firing),
    ):
        fixed += sum(int(price[runs.machine[run]]) for run in {int(member) for member in members})
    lateness = sum(prices.late * int(weight[order]) * quarters for order, quarters in late.items())
    opened = sum(
        int(price[machine]) * here
        for rows, price in ((heat_rows, prices.heating), (load_rows, prices.firing))
        for on in rows.on.values()
        for machine, here in on.items()
    )
    return lateness + opened + fixed
