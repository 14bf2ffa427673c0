"""Whether there is powder for everything that is asked: by the balance of mass, before any search."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sagger.errors import StopError
from sagger.goods.schedule import Standing
from sagger.goods.workload import Workload


def shortages(work: Workload, stands: Standing) -> Iterator[tuple[int, int]]:
    """Every powder of which there is never enough, and the delivery it needs [10 g].

    Source
    ------
    Counting: one build after the other, what comes back is counted before the next begins. Where each build
    gives back less than it takes, no order asks for less powder than the one by falling return.
    """
    stock, builds = work.stock, work.builds
    deliveries = stock.deliveries.reshape(-1, 3)
    for powder in np.flatnonzero(stock.counted):
        mine = np.flatnonzero(builds.powder == powder)
        mine = mine[np.lexsort((-builds.back[mine], ~stands.printed[mine]))]
        level, short = int(deliveries[deliveries[:, 0] == powder, 2].sum()), 0
        for build in mine:
            if not stands.printed[build]:
                short = max(short, int(builds.fed[build]) - level)
            level += int(builds.back[build] - builds.fed[build])
        if short > 0:
            yield int(powder), short


def refuse_what_never_can(work: Workload, stands: Standing) -> None:
    """Nothing if there is powder, and a printer, an oven, a furnace and somebody for each build.

    Raises
    ------
    StopError
        With what is missing.
    """
    for powder, short in shortages(work, stands):
        raise StopError(f"powder {powder}: never without a delivery of {short / 100:g} kg")
    builds, portions = work.builds, work.portions
    for build in np.flatnonzero(~stands.printed):
        if not builds.printers[build].any():
            raise StopError(f"build {build}: no printer prints this powder in this box")
        if not (work.ovens.may[:, builds.programme[build]] & (work.ovens.room >= builds.room[build])).any():
            raise StopError(f"build {build}: no oven does its programme with room for its box")
        if not builds.crews[build].any():
            raise StopError(f"build {build}: nobody may empty its box")
    for portion in np.flatnonzero((portions.family >= 0) & ~stands.fired):
        may = work.furnaces.may[:, portions.family[portion]]
        if not (may & (work.furnaces.room >= portions.shelves[portion])).any():
            raise StopError(f"portion {portion}: no furnace fires its family with room for it")
