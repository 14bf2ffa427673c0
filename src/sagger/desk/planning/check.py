"""Checking: what a file holds, and whether the process can make it."""

from __future__ import annotations

from pathlib import Path
from typing import Unpack

from sagger import line
from sagger.desk.home import write_whole
from sagger.desk.planning.cache import ticking
from sagger.desk.planning.orders import BareWords, read, wish
from sagger.goods.good import good
from sagger.goods.part import Part
from sagger.tick import Tick, silent
from sagger.views import plan as plan_view
from sagger.views.pictures import marked
from sagger.views.pictures.palette import letter
from sagger.views.words import summary


@good
class Checked:
    """Parts that were looked at against the cards."""

    parts: tuple[Part, ...]

    @property
    def stopped(self) -> bool:
        """True if the process cannot make one of them as it is."""
        return any(part.stopped for part in self.parts)

    def drawn(self, into: Path) -> list[str]:
        """Pictures of each part with the numbers of its drawing, left in a folder; what a person is told."""
        text = []
        for index, part in enumerate(self.parts):
            for number, shot in enumerate(marked.marked(part).pictures, start=1):
                name = f"{letter(index)}-{number}.png"
                write_whole(into / name, shot.png)
                text.append(f"numbers on the part: {into / name}")
        return text

    @property
    def documents(self) -> list[dict[str, object]]:
        """Each part as in plan.json."""
        return [plan_view.part(part) for part in self.parts]

    @property
    def lines(self) -> list[str]:
        """What a person is told of them."""
        return summary.check_lines(self.parts)


def check(source: str | Path, *, tick: Tick = silent, **words: Unpack[BareWords]) -> Checked:
    """Every part of an order file, or of a bare part file, looked at against the cards.

    Parameters
    ----------
    source : str or Path
        An order (`.toml`) or a part file (STL, 3MF, STEP, OBJ, PLY).
    tick : Tick
        Hears how far it is, and may say stop.
    **words
        For a bare part file: `unit`, `scale`, `quantity`, `tolerance`, `orientations`, `lot`, and the name of
        a card by its kind (`powder`, `binder`, `head`, `box`, `oven`, `furnace`, `shop`).

    Raises
    ------
    InputError
        If the order, a part file, a card or a word is refused.

    Examples
    --------
    >>> looked = sagger.check("examples/parts/pump-lever.stl", unit="mm", powder="steel-316l")
    >>> looked.stopped
    False
    >>> part = looked.parts[0]
    >>> part.extent_mm
    (70.0, 22.0, 14.0)
    >>> print(f"{part.volume_mm3 / 1e3:.2f} cm3, thickest place {part.thickest_mm:.1f} mm")
    7.75 cm3, thickest place 8.0 mm
    """
    asked = read(Path(source), wish(**words), tick=tick)
    return Checked(parts=line.check(asked.order, asked.files, asked.cell, ticking(tick)))
