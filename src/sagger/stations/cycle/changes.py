"""What one thing done otherwise would buy."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.box import Box
from sagger.goods.head import Head
from sagger.goods.stack import Stack, Tally
from sagger.goods.timetable import Change
from sagger.physics.drops import pass_clock
from sagger.stations.cycle.motions import Motions, passes
from sagger.units import into


def changes(run: Motions, stack: Stack, tally: Tally, head: Head, box: Box) -> tuple[Change, ...]:
    """One change at a time, the one that buys most first; what costs time comes last."""
    tried = [_change(name, other, note) for name, other, note in _tries(run, stack, tally, head, box)]
    return tuple(sorted(tried, key=lambda each: each.build))


def _change(name: str, run: Motions, note: str) -> Change:
    each = run.layers()
    return Change(name=name, layer=float(each.mean()), build=float(each.sum()), note=note)


def _tries(
    run: Motions, stack: Stack, tally: Tally, head: Head, box: Box
) -> Iterator[tuple[str, Motions, str]]:
    if run.dry > 0:
        note = "wetter layers smear, and more liquid goes into the oven"
        yield "drying half as long", run._replace(dry=run.dry / 2), note
    yield from _faster(run, stack, head, box)
    note = "a faster spreader packs looser and tears more; print density coupons"
    yield "spreading twice as fast", run._replace(spread=run.spread / 2), note
    yield "cleaning half as often", run._replace(clean=run.clean / 2), "watch for nozzles out"
    turns = round(head.redundancy.value)
    more = passes(stack, tally, head, turns + 1, head.skips_empty)
    yield f"each place passed {turns + 1} times", run._replace(passes=more), "hides dead nozzles"
    if not head.skips_empty and tally.rows is not None:
        fewer = passes(stack, tally, head, turns, True)
        yield "stripes without drops left out", run._replace(passes=fewer), "if the head's control can"


def _faster(run: Motions, stack: Stack, head: Head, box: Box) -> Iterator[tuple[str, Motions, str]]:
    """Passes at twice the speed, or as fast as the head fires."""
    now = head.pass_speed.value
    fastest = pass_clock.fastest_pass(head.frequency.value, stack.pitch_mm[0] * 1e-3)
    speed = min(2 * now, fastest)
    if speed <= now:
        return
    name = "passes twice as fast" if speed == 2 * now else f"passes at {into(speed, 'mm/s'):.0f} mm/s"
    note = "" if speed == 2 * now else f"the head fires at {head.frequency.value / 1e3:.3g} kHz at most; "
    length = box.length_x.value + box.over_travel.value
    one = pass_clock.print_time(1, length, speed, head.turn_time.value)
    yield name, run._replace(one_pass=one), f"{note}drops land less true from a faster head"
