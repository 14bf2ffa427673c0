"""`sagger cell`: many orders on the machines there are."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sagger.cli.lots import AS_JSON, entered
from sagger.cli.output import tell

if TYPE_CHECKING:
    from sagger.ledger.lots import Mover

TABLE = click.Path(path_type=Path, dir_okay=False)
AT = click.option("--now", "at", default="", metavar="TIME", help="local ISO time; this minute if not said")
STAND = click.option("--stand", default="", metavar="CARD", help="card of the cell")


@click.group("cell")
def command() -> None:
    """Plan many orders on the printers, boxes, ovens, furnaces and people of the cell."""


@command.command("book")
@click.argument("table", metavar="[ORDERS.csv]", type=TABLE, required=False)
@click.option("--job", type=int, default=None, help="a planned job instead of a table, see `sagger jobs`")
@click.option("--due", default="", metavar="TIME", help="of the job's order, local ISO time")
@click.option("--weight", type=click.IntRange(min=1), default=1, help="of the job's order")
@click.option("--stand", default="two-printers", metavar="CARD", help="card of the cell")
@entered
def book(table: Path | None, job: int | None, step: Mover, **words: str | int) -> None:
    """Take orders into the book, from a table (docs/cell.md) or from a planned job."""
    from sagger.desk.planning import cell

    if (table is None) == (job is None):
        raise click.UsageError("give a table, or --job")
    if table is not None:
        click.echo(cell.book_table(table, step))
    elif job is not None:
        due, weight, stand = str(words["due"]), int(words["weight"]), str(words["stand"])
        click.echo(cell.book_job(job, due, weight, stand, step))


@command.command("event")
@click.argument(
    "kind", type=click.Choice(["started", "ended", "scrapped", "down", "delivered", "fixed", "freed"])
)
@click.argument("subject", metavar="ORDER/BUILD|MACHINE|ORDER")
@click.option("--at", default="", metavar="TIME", help="local ISO time; this minute if not said")
@click.option("--until", default="", metavar="TIME", help="of a machine that is down")
@entered
def event(kind: str, subject: str, at: str, until: str, step: Mover) -> None:
    """Say what happened; what nobody says went as planned.

    A build that is fixed stays where the plan has it, in all later plans, until it is freed.
    """
    from sagger.desk.planning import cell

    click.echo(cell.event(kind, subject, at or cell.now(), until, step))


@command.command("promise")
@click.argument("order")
@click.argument("by", metavar="TIME")
@AT
@entered
def promise(order: str, by: str, at: str, step: Mover) -> None:
    """Say which date a customer was told; later plans hold to it."""
    from sagger.desk.planning import cell

    click.echo(cell.promise(order, by, at, step))


@command.command("plan")
@AT
@STAND
@click.option(
    "--better", is_flag=True, help="with the constraint solver: minutes; Ctrl-C takes the best so far"
)
@AS_JSON
@entered
def plan(at: str, stand: str, better: bool, as_json: bool, step: Mover) -> None:
    """Plan all that is open and accept the plan: each order with its date and risk."""
    from sagger.cli.progress import shown
    from sagger.desk.planning import cell
    from sagger.goods.good import document
    from sagger.views.words.cell_lines import plan_lines

    before = cell.book()
    with shown() as tick:
        entry, made = cell.plan(at, cell.BETTER if better else cell.FIRST, step, stand, tick)
    lines = [f"entry {entry}", *cell.fixed_moved(before, made)]
    lines += plan_lines(made, cell.card(made.stand).currency)
    tell(document("sagger-cell-plan/1", made), lines, as_json=as_json)


@command.command("offer")
@click.argument("table", metavar="ORDER.csv", type=TABLE)
@AT
@STAND
@AS_JSON
def offer(table: Path, at: str, stand: str, as_json: bool) -> None:
    """Say what one new order would get: date at 90 %, loads, heats, money. Nothing is booked."""
    from sagger.desk.planning import cell
    from sagger.goods.good import document
    from sagger.views.words.cell_lines import offer_lines

    made = cell.offer(cell.one_order(table), at, stand)
    tell(document("sagger-cell-offer/1", made), offer_lines(made), as_json=as_json)


@command.command("show")
@click.option("--day", default="", metavar="DATE", help="what each station does on that day")
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    help="with --day: folder of the papers, a page for each station",
)
@click.option("--picture", type=TABLE, help="where the week goes as a picture (SVG)")
@click.option("--calendar", type=TABLE, help="where what people do goes as a calendar (iCalendar, .ics)")
@click.option("--person", "whose", default="", metavar="NAME", help="with --calendar: these people only")
@click.option(
    "--zone", default="", metavar="ZONE", help="with --calendar: time zone; this machine's if not said"
)
@click.option("--scores", "scored", is_flag=True, help="promises against what was delivered")
@AS_JSON
def show(day: str, scored: bool, as_json: bool, **places: Path | str | None) -> None:
    """Show the plan accepted last; --day a day's sheet, --scores promises met.

    With --picture, --into or --calendar it goes into files: the week drawn, papers of a day, a calendar.
    """
    from sagger.desk.planning import cell
    from sagger.goods.good import document
    from sagger.views.words import cell_lines

    if scored:
        rows = cell.scores()
        return tell(rows, cell_lines.score_lines(rows), as_json=as_json)
    if lines := _written(day, places):
        return tell({"written": lines}, lines, as_json=as_json)
    made = cell.accepted()
    if day:
        sheet = cell_lines.day_sheet(made, day)
        return tell(sheet, cell_lines.day_lines(sheet), as_json=as_json)
    lines = cell_lines.plan_lines(made, cell.card(made.stand).currency)
    lines += cell_lines.fixed_lines(cell.book().fixed())
    return tell(document("sagger-cell-plan/1", made), lines, as_json=as_json)


def _written(day: str, places: Mapping[str, Path | str | None]) -> list[str]:
    """What was written where, a line each; none if no file was asked for."""
    from sagger.desk.planning import cell_sheets

    picture, into, calendar = (places[name] for name in ("picture", "into", "calendar"))
    if into and not day:
        raise click.UsageError("papers are of a day, give --day")
    lines = []
    if picture:
        lines += cell_sheets.drawn(day, Path(picture))
    if into:
        lines += cell_sheets.written(day, Path(into))
    if calendar:
        whose, zone = str(places["whose"]), str(places["zone"])
        lines += cell_sheets.calendar_written(whose, zone, Path(calendar))
    return lines
