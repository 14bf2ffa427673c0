"""The machines and people that stand in a cell, once its card is read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure
from sagger.goods.good import good
from sagger.goods.shift import Shift, SpecialDay


@good
class StandPrinter:
    name: str
    powders: tuple[str, ...]  # cards
    boxes: tuple[str, ...]  # cards


@good
class StandBoxes:
    """Job boxes of one size."""

    box: str  # card
    number: Figure = figure("count")


@good
class StandOven:
    name: str
    programmes: tuple[str, ...]
    places: Figure = figure("count")  # boxes at a time


@good
class StandFurnace:
    name: str
    families: tuple[str, ...]
    shelves: Figure = figure("count")


@good
class StandCrew:
    """People of the same skill; they work in the shifts of the card."""

    name: str
    people: Figure = figure("count")


@good
class HeatProgramme:
    """What boxes that share a heat have in common."""

    name: str
    powders: tuple[str, ...]  # cards
    length: Figure = figure("time")  # until the boxes may be opened
    wait: Figure = figure("time")  # from print to oven, at most


@good
class FiringFamily:
    """What pieces that share a load have in common."""

    name: str
    powders: tuple[str, ...]  # cards
    length: Figure = figure("time")  # until unloaded
    wait: Figure = figure("time")  # from bench to furnace, at most


@good
class PowderChange:
    """A printer that held one powder is made ready for another."""

    before: str  # card
    after: str  # card
    length: Figure = figure("time")


@good
class Stand:
    name: str
    title: str
    currency: str
    shifts: tuple[Shift, ...]
    special_days: tuple[SpecialDay, ...]
    printers: tuple[StandPrinter, ...]
    boxes: tuple[StandBoxes, ...]
    ovens: tuple[StandOven, ...]
    furnaces: tuple[StandFurnace, ...]
    crews: tuple[StandCrew, ...]
    programmes: tuple[HeatProgramme, ...]
    families: tuple[FiringFamily, ...]
    changes: tuple[PowderChange, ...]  # pairs of powders without one: no time
    kept: Figure = figure("time")  # what begins so soon is not planned anew: people were told
    patience: Figure = figure("time")  # a heat or load waits so long for a late member
    lateness: Figure = figure("price_per_time")  # of an order of weight 1
    firing: Figure = figure("money")  # of a load, full or not
    heating: Figure = figure("money")  # of a heat, full or not
    changing: Figure = figure("price_per_time")
    print_scatter: Figure = figure("pure")  # relative standard deviation of a print's time
    hands_scatter: Figure = figure("pure")  # and of bench work
    builds_lost: Figure = figure("pure")  # share of builds that are printed again


def machine_names(stand: Stand) -> list[str]:
    """Printers first, then ovens, then furnaces."""
    names = [printer.name for printer in stand.printers]
    return names + [oven.name for oven in stand.ovens] + [furnace.name for furnace in stand.furnaces]
