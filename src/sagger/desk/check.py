"""Checking: what a file holds, and whether the process can make it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sagger import line
from sagger.desk.orders import Wish, read
from sagger.goods.good import good
from sagger.tick import Tick, silent
from sagger.views import plan as plan_view
from sagger.views import summary


@good
class Checked:
    documents: list[dict[str, Any]]  # one per part, as in plan.json
    lines: list[str]
    stopped: bool


def check(source: Path, wish: Wish, *, tick: Tick = silent) -> Checked:
    """Look at every part of an order file, or at a bare part file, against the cards.

    Raises
    ------
    InputError
        If the order, a part file or a card is refused.
    """
    asked = read(source, wish, tick=tick)

    def make(verb: Any, *inputs: Any) -> Any:
        return verb(*inputs, tick=tick)

    parts = line.check(asked.order, asked.files, asked.cell, make)
    return Checked(
        documents=[plan_view.part(each) for each in parts],
        lines=summary.check_lines(parts),
        stopped=any(part.stopped for part in parts),
    )
