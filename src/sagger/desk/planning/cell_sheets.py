"""What the accepted plan of the cell looks like: its week as a picture, a day's sheet for each station."""

from __future__ import annotations

import numpy as np

from sagger.desk.planning.cell_held import accepted, card, moment
from sagger.goods.stand import machine_names
from sagger.stations import schedule
from sagger.views.charts import week


def week_picture(day: str = "") -> str:
    """The week of a day [ISO] as SVG, as the accepted plan has it; the week of the plan if none is said."""
    made = accepted()
    stand, monday = card(made.stand), schedule.monday(moment(day) if day else made.now)
    there = schedule.attended(stand, monday, 1)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], there, [False]))))
    moments = [schedule.written(monday, int(edge)) for edge in edges]
    stretches = list(zip(moments[::2], moments[1::2], strict=True))
    rows = machine_names(stand) + [crew.name for crew in stand.crews]
    return week.week(made, rows, monday, stretches)
