"""`sagger trace`: where a piece comes from, and where powder went."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from sagger.cli.output import tell

if TYPE_CHECKING:
    from sagger.desk.measuring.trace import Genealogy


def _forms(function: click.decorators.FC) -> click.decorators.FC:
    function = click.option("--csv", "as_csv", is_flag=True, help="print as a table on stdout")(function)
    return click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")(function)


def _tell(traced: Genealogy, as_json: bool, as_csv: bool) -> None:
    if as_csv:
        click.echo(traced.table, nl=False)
    else:
        tell(traced.document, traced.lines, as_json=as_json)


@click.group("trace")
def command() -> None:
    """Say where a piece comes from, or what a lot of powder went into."""


@command.command("piece")
@click.argument("box")
@click.argument("label")
@_forms
def piece(box: str, label: str, as_json: bool, as_csv: bool) -> None:
    """From a piece back: powder and its lots, cards, factors, place, furnace, readings, editions, people."""
    from sagger.desk.measuring import trace

    _tell(trace.piece(box, label), as_json, as_csv)


@command.command("lot")
@click.argument("lot")
@_forms
def lot(lot: str, as_json: bool, as_csv: bool) -> None:
    """From a lot forward: every lot, box and piece that holds some of it."""
    from sagger.desk.measuring import trace

    _tell(trace.lot(lot), as_json, as_csv)


@command.command("box")
@click.argument("box")
@_forms
def box(box: str, as_json: bool, as_csv: bool) -> None:
    """The pieces of a box, as readings call them."""
    from sagger.desk.measuring import trace

    _tell(trace.box(box), as_json, as_csv)
