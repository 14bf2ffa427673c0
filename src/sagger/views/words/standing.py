"""How far the figures behind a result can be trusted: the weakest figure of the cards that a step reads."""

from __future__ import annotations

from typing import NamedTuple

from sagger.goods.planned import WholePlan

# Kinds of cards that each step of the line is handed, see line.py.
READS = {
    "intake": (),  # sizes come from the part file; each finding cites its limit
    "bed": ("powder",),
    "shrink": ("powder",),
    "nest": ("box",),
    "layers": ("head", "powder"),
    "dosing": ("powder", "binder", "head", "box"),
    "cycle": ("powder", "binder", "head", "box"),
    "cure": ("powder", "binder", "oven"),
    "depowder": ("powder", "box"),
    "mould": ("powder", "binder"),
    "sinter": ("powder", "binder", "furnace"),
    "promise": ("powder", "furnace", "shop"),
    "cost": ("powder", "binder", "head", "box", "oven", "furnace", "shop"),
}
WORDS = {
    "read": "read in a source",
    "measured": "measured",
    "worked": "worked out from other figures",
    "memory": "from memory, not looked up",
    "assumed": "assumed",
}


class Rest(NamedTuple):
    """What a step's results rest on."""

    memory: int  # figures from memory on the cards it reads
    assumed: int

    @property
    def weak(self) -> bool:
        """Whether any figure behind the result is from memory or assumed."""
        return bool(self.memory or self.assumed)

    @property
    def words(self) -> str:
        """For a person who points at the result."""
        if not self.weak:
            return "every figure behind this was read, measured or worked out"
        return f"the cards behind this hold {self.memory} figures from memory and {self.assumed} assumed ones"


def rest(plan: WholePlan, room: str) -> Rest:
    """What the results of a step (intake, shrink, nest, …) rest on.

    Parameters
    ----------
    plan : WholePlan
        Of a job that was planned.
    room : str
        Step of the line. Sizes to print rest on no card once a person approved measured factors.
    """
    kinds = READS[room]
    if room == "shrink" and plan.factors.origin.startswith("approved"):
        kinds = ()
    names = {card.name for card in plan.cards if card.kind in kinds}
    standings = [each.standing for each in plan.weak_figures if each.card in names]
    return Rest(standings.count("memory"), standings.count("assumed"))
