"""What one layer is made of, motion by motion."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.head import Head
from sagger.goods.powder import Powder
from sagger.goods.stack import Stack, Tally
from sagger.physics.drops import pass_clock


class Motions(NamedTuple):
    """Times [s]; all but the passes are the same in every layer."""

    spread: float
    back: float
    one_pass: float
    dry: float
    clean: float
    platform: float
    helped: float
    passes: ndarray  # int64 (layers,)
    step: int  # rows between two nozzles

    def layers(self) -> ndarray:
        """Time of each layer, float64 (layers,) [s]."""
        return np.asarray(
            pass_clock.layer_time(self.spread, self.back, 0.0, self.dry, self.clean, self.platform)
            + self.helped
            + self.passes * self.one_pass
        )

    def longest(self) -> tuple[str, float]:
        """What takes most of the build, and its share."""
        parts = {
            "spreading": self.spread + self.back,
            "printing": float(self.passes.mean()) * self.one_pass,
            "drying": self.dry,
            "cleaning": self.clean,
            "the platform": self.platform,
            "help with spreading": self.helped,
        }
        name = max(parts, key=lambda each: parts[each])
        return name, parts[name] / sum(parts.values())


def motions(stack: Stack, tally: Tally, powder: Powder, binder: Binder, head: Head, box: Box) -> Motions:
    """The motions of this head over this box; a powder that does not spread by itself is helped."""
    stroke = box.length_x.value
    step = pass_clock.interleave(1e3 / stack.pitch_mm[1], head.native_y.value)
    return Motions(
        spread=pass_clock.stroke_time(stroke, box.spread_speed.value),
        back=pass_clock.stroke_time(stroke, box.return_speed.value),
        one_pass=pass_clock.print_time(
            1, stroke + box.over_travel.value, head.pass_speed.value, head.turn_time.value
        ),
        dry=binder.dry_time.value,
        clean=head.clean_time.value / head.clean_every.value,
        platform=box.platform_time.value,
        helped=powder.help_time.value if powder.help_time else 0.0,
        passes=passes(stack, tally, head, round(head.redundancy.value), head.skips_empty),
        step=step,
    )


def passes(stack: Stack, tally: Tally, head: Head, turns: int, skips: bool) -> ndarray:
    """Passes in each layer, int64 (layers,): over the whole bed, or over the rows that have drops."""
    step = pass_clock.interleave(1e3 / stack.pitch_mm[1], head.native_y.value)
    rows = np.tile([0, stack.rows - 1], (stack.count, 1))
    if skips and tally.rows is not None:
        rows = tally.rows
    return pass_clock.passes_over(rows[:, 0], rows[:, 1], round(head.nozzles.value), step, max(1, turns))
