"""`sagger book`: what was really done."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sagger.cli.lots import entered

if TYPE_CHECKING:
    from sagger.ledger.lots import Mover


@click.group("book")
def command() -> None:
    """Enter what was really done: a box that was printed, a furnace run that went."""


@command.command("box")
@click.argument("name")
@click.option("--job", type=int, required=True, help="job whose plan was printed, see `sagger jobs`")
@click.option("--number", type=int, default=1, help="which box of that job, from 1")
@entered
def box(name: str, job: int, number: int, step: Mover) -> None:
    """Book a printed box under NAME, with the label and place of every piece in it."""
    from sagger.desk.measuring import book

    click.echo("\n".join(book.box(name, job, number, step)))


@command.command("run")
@click.argument("name")
@click.argument("table", metavar="TABLE.csv", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--furnace", default="", help="furnace card")
@click.option("--programme", default="", help="its programme, or where the record of it lies")
@entered
def run(name: str, table: Path, furnace: str, programme: str, step: Mover) -> None:
    """Book a furnace run; the table says box and piece, and if known tray, place, x_mm, y_mm, z_mm."""
    from sagger.desk.measuring import book

    click.echo(book.run(name, furnace, table, programme, step))
