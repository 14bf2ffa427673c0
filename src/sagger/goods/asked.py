"""What the book of a cell holds: orders asked for, what happened since, and the plans that were accepted."""

from __future__ import annotations

from sagger.goods.good import good

HAPPENINGS = ("started", "ended", "scrapped", "down", "delivered", "fixed", "freed")


@good
class AskedBuild:
    """One job box of an order."""

    label: str  # once in its order
    powder: str  # card
    box: str  # card
    print_h: float  # setting up included
    hands_h: float  # bench work
    shelves: int  # of a furnace; 0: ready when the box is emptied


@good
class AskedOrder:
    name: str  # once in the book
    builds: tuple[AskedBuild, ...]
    due: str  # ISO date and time
    weight: int = 1
    release: str = ""  # ISO; "" = at once
    promised: str = ""  # ISO; "" = nothing yet


@good
class GivenPromise:
    """A date that a customer was told."""

    order: str
    by: str  # ISO
    chance: float  # at which the plan of that day met it
    given: str  # ISO


@good
class CellEvent:
    """What happened, or where a build is to stay, as a person says it; nothing said = as planned."""

    kind: str  # of HAPPENINGS
    subject: str  # a machine that is down; an order delivered; "order/build" of all others
    at: str  # ISO date and time
    until: str = ""  # of a machine that is down


@good
class PlannedBuild:
    """Where one build goes, and when. Times are ISO; of what it does not need texts are empty and runs -1."""

    order: str
    build: str
    powder: str
    printer: str
    starts: str
    printed: str
    oven: str
    heat: int
    heated_from: str
    heated_to: str
    crew: str
    bench_from: str
    emptied: str
    furnace: str = ""
    load: int = -1
    fired_from: str = ""
    ready: str


@good
class OrderForecast:
    """When an order will be ready, and with which chance by when."""

    order: str
    due: str
    planned: str  # if everything takes as long as planned
    likely: str  # ISO: ready by then with the chance of the plan's quantile
    in_time: float  # chance to be ready when due
    mates: tuple[str, ...]  # orders whose builds share its heats or loads


@good
class CellPlan:
    """A plan of the cell as it was accepted."""

    stand: str  # card
    now: str  # ISO: nothing that was free begins before it
    seed: int
    builds: tuple[PlannedBuild, ...]
    late: int  # orders later than due
    loads: int
    heats: int
    cost: float  # in the card's currency: lateness at its price, loads, heats, change-overs
    bound: float  # no plan costs less
    bound_by: str
    orders: tuple[OrderForecast, ...]


@good
class OfferRow:
    """One way to take a new order in."""

    way: str
    planned: str  # ISO
    by: str  # ISO: ready by then with the chance asked
    chance: float
    new_loads: int
    new_heats: int
    added: float  # loads, heats and change-overs of the cell [currency of the card]


@good
class CellOffer:
    """What a new order would get from the cell as it is; it reserves nothing."""

    order: str
    now: str
    rests_on: int  # entry of the plan
    currency: str
    rows: tuple[OfferRow, ...]


@good
class PromiseScore:
    """What was promised of an order, and what came."""

    order: str
    by: str
    chance: float
    given: str
    delivered: str
    met: bool
    weeks_ahead: int  # whole weeks from giving it to its date
