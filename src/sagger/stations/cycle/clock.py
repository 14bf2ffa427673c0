"""The layer clock of one box: what each layer takes, what limits it, and what a change would buy."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.dose import Dose
from sagger.goods.figure import cited_at, weakest
from sagger.goods.finding import Against, Finding, ok, stop
from sagger.goods.head import Head
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack, Tally
from sagger.goods.timetable import Timetable
from sagger.physics.drops import pass_clock
from sagger.stations.cycle.changes import changes
from sagger.stations.cycle.dry import dried, noticed
from sagger.stations.cycle.motions import motions
from sagger.units import into


def time(stack: Stack, tally: Tally, dose: Dose, powder: Powder, binder: Binder, head: Head) -> Timetable:
    """How long each layer and the box take, with lamp power and vapour.

    Parameters
    ----------
    stack, tally, dose : Stack, Tally, Dose
        Lattice and layer count; rows with drops, where the head leaves empty stripes out; binder per layer.
    powder, binder, head
        The cards.

    Returns
    -------
    Timetable
        Lamp and vapour are those of the layer with most binder. Findings: a head that cannot fire so
        fast; drying faster than air can carry; vapour.

    Raises
    ------
    LawError
        If a speed or the lamp's efficiency on a card makes no sense.
    """
    box = stack.layout.box
    run = motions(stack, tally, powder, binder, head, box)
    by_layer, passes = run.layers(), int(run.passes.max(initial=0))
    longest, most = run.longest()
    firing = pass_clock.firing_frequency(head.pass_speed.value, stack.pitch_mm[0] * 1e-3)
    build = float(by_layer.sum())
    area = box.length_x.value * box.length_y.value
    dry = dried(stack, dose, powder, binder, box, float(by_layer.max()))
    return Timetable(
        spread=run.spread,
        back=run.back,
        passes=passes,
        stripes=pass_clock.stripes(stack.rows, round(head.nozzles.value) * run.step),
        print=passes * run.one_pass,
        dry=run.dry,
        clean=run.clean,
        platform=run.platform,
        helped=run.helped,
        layer=float(by_layer.max()),
        by_layer=by_layer,
        layers=stack.count,
        build=build,
        setup=box.setup_time.value,
        firing=firing,
        firing_most=head.frequency.value,
        volume_rate=area * stack.layer_mm * 1e-3 * stack.count / build,
        bed_rate=dose.powder_in_box / build,
        piece_rate=dose.powder_in_pieces / build,
        longest=longest,
        longest_share=most,
        changes=changes(run, stack, tally, head, box),
        drying=dry,
        standing=_standing(powder, binder, head, box),
        findings=(
            *_fires(firing, stack, head),
            *_limits(longest, most, np.ptp(by_layer)),
            *noticed(dry, binder),
        ),
    )


def _standing(powder: Powder, binder: Binder, head: Head, box: Box) -> str:
    """Of the weakest of the speeds and times that a layer is summed from."""
    motion = (head.pass_speed, head.turn_time, head.clean_time, head.clean_every, head.redundancy)
    helped = (powder.help_time,) if powder.help_time else ()
    return weakest(*motion, *helped, box.spread_speed, box.return_speed, box.platform_time, binder.dry_time)


def _limits(longest: str, share: float, apart: float) -> Iterator[Finding]:
    varies = f" Layers differ by up to {apart:.1f} s, as stripes without drops are left out." if apart else ""
    yield ok(
        "layer time",
        f"Most of the build, {share:.0%}, goes into {longest}.{varies}",
        Against(value=100 * share, unit="%", source="sum of the motions on head and box cards"),
    )


def _fires(firing: float, stack: Stack, head: Head) -> Iterator[Finding]:
    most = head.frequency.value
    if firing <= most:
        return
    fastest = pass_clock.fastest_pass(most, stack.pitch_mm[0] * 1e-3)
    yield stop(
        "firing frequency",
        f"Passes at {into(head.pass_speed.value, 'mm/s'):.0f} mm/s need {firing / 1e3:.1f} kHz; "
        f"the head fires at {most / 1e3:.1f} kHz.",
        Against(firing / 1e3, most / 1e3, "kHz", cited_at(head.frequency)),
        f"Pass at {into(fastest, 'mm/s'):.0f} mm/s or slower.",
    )
