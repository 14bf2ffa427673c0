"""The cell: orders with date and risk, builds of a week, a day's sheet, offers, promises and their score."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from urllib.parse import quote

from markupsafe import Markup

from sagger.goods.asked import (
    AskedOrder,
    CellOffer,
    CellPlan,
    GivenPromise,
    OfferRow,
    OrderForecast,
    PlannedBuild,
    PromiseScore,
)
from sagger.goods.cell_run import CellRun
from sagger.ledger.cellbook import FIXING, CellBook
from sagger.views.words import cell_lines
from sagger.views.words.cell_lines import DaySheet
from sagger.web import markup

HEAD = ("Order", "State", "Late by", "Due", "Planned ready", "90 % by", "Chance in time", "Waits for")
BUILDS = ("Build", "Powder", "Printer", "Starts", "Printed", "In the oven", "Emptied", "Ready", "State")
OFFER = ("How", "Planned ready", "90 % by", "New firings", "New heats")
PROMISES = ("Order", "Promised by", "Told on", "Chance then", "State")
SURE = 0.9  # chance from which on nothing needs a look
HAPPENED = {  # kinds of events, as a person says them
    "started": "a print was started",
    "ended": "a print ended",
    "scrapped": "a build was scrapped",
    "down": "a machine is down",
    "delivered": "an order was delivered",
}
STATES = {"done": "ready", "failed": "stop", "interrupted": "look", "cancelled": "look", "running": "running"}
NONE_YET = "No order is in the book yet. Bring a table of orders below, or book a planned job."


def orders(book: CellBook) -> Markup:
    """All open orders, late ones first, then those at risk, then by their date."""
    open_orders = book.open_orders()
    if not open_orders:
        return Markup("<p>{}</p>").format(NONE_YET)
    forecasts = {row.order: row for row in book.plan.orders} if book.plan else {}
    pairs = sorted(
        ((order, forecasts.get(order.name)) for order in open_orders), key=lambda pair: _urgency(*pair)
    )
    return markup.table(HEAD, (_order(*pair) for pair in pairs), "Orders of the book", numbers=(6,))


def _urgency(order: AskedOrder, forecast: OrderForecast | None) -> tuple[int, str]:
    ranks = ("late", "at risk", "not planned", "in time")
    return ranks.index(standing(order, forecast)), order.promised or order.due


def standing(order: AskedOrder, forecast: OrderForecast | None) -> str:
    """How an order stands, in words."""
    if forecast is None:
        return "not planned"
    if forecast.planned > (order.promised or order.due):
        return "late"
    return "in time" if forecast.in_time >= SURE else "at risk"


def _order(order: AskedOrder, forecast: OrderForecast | None) -> tuple[object, ...]:
    word, name = standing(order, forecast), markup.together(order.name)
    tone = {"late": "stop", "at risk": "look", "in time": "ready"}.get(word, "waiting")
    wish = f"{when(order.promised)}, promised" if order.promised else when(order.due)
    if forecast is None:
        return name, markup.state_of(tone, word), "", markup.together(wish), "", "", "", ""
    return (
        name,
        markup.state_of(tone, word),
        markup.together(late_by(forecast.planned, order.promised or order.due)),
        markup.together(wish),
        markup.together(when(forecast.planned)),
        markup.together(when(forecast.likely)),
        f"{forecast.in_time:.0%}",
        ", ".join(forecast.mates),
    )


def late_by(planned: str, due: str) -> str:
    """How much later than due, in days and hours; "" if it is not."""
    late = datetime.fromisoformat(planned) - datetime.fromisoformat(due)
    if late <= timedelta(0):
        return ""
    hours = late.seconds / 3600
    days = f"{late.days} d " if late.days else ""
    return f"{days}{hours:g} h" if hours else days.strip()


def when(moment: str) -> str:
    """A moment with its day of the week."""
    return f"{datetime.fromisoformat(moment):%a %Y-%m-%d %H:%M}" if moment else ""


def head(book: CellBook, currency: str) -> Markup:
    """What the plan in force came to, and whether it still says what the book says."""
    if book.plan is None:
        return Markup("<h2>No plan yet</h2><p>{} orders wait in the book.</p>").format(
            len(book.open_orders())
        )
    lines = cell_lines.plan_lines(book.plan, currency)[:2] + cell_lines.fixed_lines(book.fixed())
    title = f"Plan {book.entry}, made from {when(book.plan.now)}"
    body = Markup("").join(Markup("<p>{}</p>").format(line) for line in (*lines, *since(book)))
    return Markup("<h2>{}</h2>{}").format(title, body)


def since(book: CellBook) -> list[str]:
    """What was booked or said since the plan; plan anew to have it counted."""
    planned = {row.order for row in book.plan.orders} if book.plan else set()
    new = [order.name for order in book.open_orders() if order.name not in planned]
    said_since = [event for entry, event in book.events if entry > book.entry]
    happened = [event for event in said_since if event.kind not in FIXING]  # that changes no time yet
    lines = [f"not planned yet: {', '.join(new)}"] if new else []
    lines += [f"since this plan: {event.subject} {event.kind}, {when(event.at)}" for event in happened]
    return [*lines, "Plan anew to have that counted."] if lines else []


def run(now: CellRun | None) -> Markup:
    """A plan that is being made, or what became of it."""
    if now is None:
        return Markup("")
    kind = "better plan" if now.asked.better else "plan"
    if now.state == "running":
        share = now.done / now.total if now.total else None
        doing = f"{kind} for {now.asked.person}: {now.doing or 'beginning'}"
        return markup.progress(share, "how far the plan is", doing)
    word, ended = {
        "done": ("accepted", f"as entry {now.entry}"),
        "cancelled": ("stopped", "the plan before it holds"),
    }.get(now.state, ("not accepted", "nothing of the book is lost"))
    said = Markup("<p>{}</p>").format(now.message) if now.message else Markup("")
    state = markup.state_of(STATES.get(now.state, "waiting"), word)
    return Markup("<p>{} {} for {}, {}</p>{}").format(state, kind, now.asked.person, ended, said)


def builds_of(plan: CellPlan, monday: str) -> list[PlannedBuild]:
    """Builds that are somewhere in the cell in the week from a Monday, by their start."""
    end = (datetime.fromisoformat(monday) + timedelta(weeks=1)).isoformat()
    rows = [row for row in plan.builds if row.starts < end and row.ready >= monday]
    return sorted(rows, key=lambda row: (row.starts, row.order, row.build))


def build_cells(row: PlannedBuild) -> tuple[str, ...]:
    """What is said of a build under `BUILDS`, but for its state."""
    moments = (row.starts, row.printed, row.heated_from, row.emptied, row.ready)
    starts, printed, heated, emptied, ready = (f"{datetime.fromisoformat(at):%a %d, %H:%M}" for at in moments)
    name = f"{row.order}/{row.build}"
    return name, row.powder, row.printer, starts, printed, heated, emptied, ready


def build_state(row: PlannedBuild, book: CellBook, now: str) -> str:
    """Whether a build is begun, fixed or free."""
    name = f"{row.order}/{row.build}"
    if name in book.fixed():
        return "fixed"
    scrapped = {event.subject for event in book.since_plan() if event.kind == "scrapped"}
    if name in scrapped:
        return "scrapped"
    return "begun" if row.starts <= now else "free"


def state_of_build(word: str) -> Markup:
    """Begun, fixed, free or scrapped, as a mark."""
    tones = {"begun": "running", "fixed": "ready", "scrapped": "look"}
    return markup.state_of(tones.get(word, "waiting"), word)


def text(words: object) -> Markup:
    """Words of a cell of a table."""
    return markup.safe(words)


def week(picture: str, monday: str, *, fixed: bool) -> Markup:
    """The drawn week, with words for those who cannot see it: the table below says the same."""
    words = f"week of {monday}: machines, people and job boxes as rows; hours with nobody there are shaded"
    drawn = Markup('<div role="img" aria-label="{}">{}</div>').format(words, Markup(picture))
    return drawn + (Markup("<p>A bar with a thick line under it is fixed.</p>") if fixed else Markup(""))


def open_subjects(names: Sequence[str], kind: str, book: CellBook) -> list[str]:
    """What an event can still be about: nothing of an order that is delivered."""
    if kind == "down":
        return list(names)
    gone = book.delivered()
    return [name for name in names if (name if kind == "delivered" else name.rpartition("/")[0]) not in gone]


def day(sheet: DaySheet, stations: Iterable[str]) -> Markup:
    """A table for each station that has something to do."""
    by_station = {name: [task for task in sheet.tasks if task.station == name] for name in stations}
    tables = [
        Markup("<div><h3>{}</h3>{}</div>").format(
            name, markup.table(("At", "What"), ((task.at[11:16], task.deed) for task in tasks), name)
        )
        for name, tasks in by_station.items()
        if tasks
    ]
    if not tables:
        return Markup("<p>Nothing begins or ends at any station on this day.</p>")
    return Markup('<div class="stations">{}</div>').format(Markup("").join(tables))


def papers(date: str, tasks: int) -> Markup:
    """Links to what can be taken away of a day."""
    if not tasks:
        return Markup("")
    links = (
        markup.link(f"/files/cell/day/{date}.{kind}", f"A page for each station, {kind.upper()}", "plain")
        for kind in ("pdf", "html")
    )
    return Markup('<p class="acts">{}</p>').format(Markup(" ").join(links))


def calendars(people: Sequence[str]) -> Markup:
    """Links to the calendars of the people of the cell."""
    addresses = {
        f"Calendar of {name}, ICS": f"/files/cell/calendar.ics?person={quote(name)}" for name in people
    }
    if len(people) > 1:
        addresses["Calendar of all, ICS"] = "/files/cell/calendar.ics"
    links = (markup.link(address, words, "plain") for words, address in addresses.items())
    return Markup('<p class="acts">{}</p>').format(Markup(" ").join(links))


def offer(made: CellOffer) -> Markup:
    """The table of patience: what waiting gains."""
    head = (*OFFER, f"{made.currency} added")
    title = f"What {made.order} would get"
    rests = (
        f"It rests on plan {made.rests_on}, reserves nothing, and holds until something is planned or booked."
    )
    table = markup.table(head, map(_offered, made.rows), title, numbers=(3, 4, 5))
    return Markup("<h3>{}</h3>{}<p>{}</p>").format(title, table, rests)


def _offered(row: OfferRow) -> tuple[object, ...]:
    dates = (markup.together(when(row.planned)), markup.together(when(row.by)))
    return row.way, *dates, f"{row.new_loads:+}", f"{row.new_heats:+}", f"{row.added:+,.0f}"


def promises(given: Sequence[GivenPromise], scores: Sequence[PromiseScore], plan: CellPlan | None) -> Markup:
    """Dates that customers were told, and whether they were met."""
    if not given:
        return Markup("<p>No customer was told a date yet.</p>")
    met = {(score.order, score.by, score.given): score for score in scores}
    ready = {row.order: row.planned for row in plan.orders} if plan else {}
    rows = (_promise(one, met.get((one.order, one.by, one.given)), ready) for one in reversed(given))
    lines = cell_lines.score_lines(scores) if scores else []
    summary = markup.items(line for line in lines if not line.startswith(" "))
    return markup.table(PROMISES, rows, "Promises given", numbers=(3,)) + summary


def _promise(given: GivenPromise, score: PromiseScore | None, ready: dict[str, str]) -> tuple[object, ...]:
    if score is not None:
        word = "met" if score.met else "missed"
        state = markup.state_of("ready" if score.met else "stop", f"{word}, {when(score.delivered)}")
    elif ready.get(given.order, "") > given.by:
        state = markup.state_of("stop", "planned later than that")
    else:
        state = markup.state_of("waiting", "open")
    by, told_on = markup.together(when(given.by)), markup.together(when(given.given))
    return markup.together(given.order), by, told_on, f"{given.chance:.0%}", state
