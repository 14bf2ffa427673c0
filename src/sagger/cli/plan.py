"""`sagger plan`: one order, from part files to drop images, traveller and quote."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Unpack

import click

from sagger.cli.output import tell

if TYPE_CHECKING:
    from sagger.desk.planning.orders import BareWords

KINDS = ("powder", "binder", "head", "box", "oven", "furnace", "shop")


def cards_asked(function: click.decorators.FC) -> click.decorators.FC:
    """Adds options for cards, the powder lot, and how a bare part file is read."""
    for kind in reversed(KINDS):
        function = click.option(
            f"--{kind}", default="", metavar="CARD", help=f"{kind} card, see `sagger cards`"
        )(function)
    for name, words in READING:
        function = click.option(f"--{name}", default="", help=words)(function)
    return click.option(
        "--lot", default="", metavar="LOT", help="powder lot: a lot file (.toml) or a name in the ledger"
    )(function)


READING = (
    ("body", "of a bare file that holds several: this one; else all, each by itself"),
    ("chord", 'largest distance of a bare STEP file\'s facets from its surface, such as "0.05 mm"'),
    ("reading", 'processor time that reading a bare file may take, such as "5 min"'),
)


@click.command("plan")
@click.argument("source", metavar="ORDER.toml|PART", type=click.Path(path_type=Path))
@click.option(
    "--into", required=True, type=click.Path(path_type=Path, file_okay=False), help="folder of results"
)
@click.option("--json", "as_json", is_flag=True, help="print the plan as JSON on stdout")
@click.option("--quantity", default=1, help="pieces, for a bare part file")
@click.option("--unit", default="", help="unit of a bare file that carries none: um, mm, cm, m, in")
@click.option("--scale", default=1.0, help="size of a bare part before anything else")
@click.option("--tolerance", default="", help='for a bare part: "0.2 mm", "0.5 %" or "ISO 2768-m"')
@click.option("--orientations", default="", help="for a bare part: fixed, upright or free")
@cards_asked
def command(source: Path, into: Path, as_json: bool, **words: Unpack[BareWords]) -> None:
    """Plan ORDER.toml, or PART with default cards, and leave the results in a folder.

    A run that was stopped or killed goes on from where it was when the same command is given again.
    """
    from sagger import plan
    from sagger.cli.progress import shown

    with shown() as tick:
        outcome = plan(source, into, tick=tick, **words)
    tell(outcome.document, outcome.lines, as_json=as_json)
    sys.exit(3 if outcome.stopped else 0)
