"""What has to be done on which machines: builds, portions and orders, and the cell they share, in numbers.

All times are quarter hours since the Monday, 00:00, named by `base` (local wall time).
"""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good
from sagger.goods.shift import WorkClock

NOT_FIRED = -1  # family of a portion that is ready when its box is emptied


@good
class Builds:
    """One job box each: printed, cured and emptied as a whole. int64 (n,) unless said otherwise."""

    release: ndarray  # may begin
    printing: ndarray  # setting up included
    hands: ndarray  # bench work, of one person
    powder: ndarray
    box: ndarray  # size of its job box
    programme: ndarray  # of the oven
    room: ndarray  # places it takes in an oven
    printers: ndarray  # bool (n, printers): which may print it
    crews: ndarray  # bool (n, crews): who may empty it
    fed: ndarray  # powder taken when the print begins [10 g]
    back: ndarray  # powder given back after the box was emptied [10 g]


@good
class Portions:
    """What one build gives to one furnace load. int64 (m,)."""

    build: ndarray
    order: ndarray
    family: ndarray  # NOT_FIRED: ready when the box is emptied
    shelves: ndarray  # of the furnace's room


@good
class Wishes:
    """When orders are due, and what they weigh. int64 (o,)."""

    due: ndarray
    weight: ndarray


@good
class Printers:
    change: ndarray  # int64 (powders, powders): from row to column
    holds: ndarray  # int64 (printers,): powder there at the beginning; -1 = clean
    starts: ndarray  # int64 (n + 1,): first moment not before each at which a print may begin


@good
class JobBoxes:
    number: ndarray  # int64 (sizes,)


@good
class Ovens:
    room: ndarray  # int64 (ovens,): places
    may: ndarray  # bool (ovens, programmes)
    length: ndarray  # int64 (programmes,): until the boxes may be opened
    wait: ndarray  # int64 (programmes,): from print to oven, at most; NEVER = any time
    starts: ndarray  # as of printers


@good
class Crews:
    """People of the same hours and skills."""

    people: ndarray  # int64 (crews,)
    clocks: tuple[WorkClock, ...]


@good
class Furnaces:
    room: ndarray  # int64 (furnaces,): shelves
    may: ndarray  # bool (furnaces, families)
    length: ndarray  # int64 (families,): until unloaded
    wait: ndarray  # int64 (families,): from bench to furnace, at most; NEVER = any time
    starts: ndarray


@good
class PowderStock:
    """Powder on the shelf and to come [10 g]; a powder without a row of deliveries is never short."""

    deliveries: ndarray  # int64 (k, 3): powder, moment, amount; stock at the beginning is one at moment 0
    counted: ndarray  # bool (powders,): short if more is taken than there is
    sieving: int  # from the emptied box to the shelf [quarters]


@good
class Blocks:
    """Stretches in which machines stand: maintenance, breakdown. int64 (k,)."""

    machine: ndarray  # printers first, then ovens, then furnaces
    begins: ndarray
    ends: ndarray


@good
class Prices:
    """What the objective adds up, in one unit of money; lateness is counted in weighted quarters."""

    late: int  # of a weighted quarter of lateness
    firing: ndarray  # int64 (furnaces,): of a load
    heating: ndarray  # int64 (ovens,): of a heat
    changing: int  # of a quarter of change-over


@good
class Workload:
    base: str  # ISO date of the Monday on which the clock begins; "" for a calendar without dates
    builds: Builds
    portions: Portions
    wishes: Wishes
    printers: Printers
    boxes: JobBoxes
    ovens: Ovens
    crews: Crews
    furnaces: Furnaces
    stock: PowderStock
    blocks: Blocks
    prices: Prices
