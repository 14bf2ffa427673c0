"""`sagger blend`: which second cut packs closer with a lot."""

from __future__ import annotations

import click

from sagger.cli.output import tell


@click.command("blend")
@click.argument("base", metavar="LOT")
@click.argument("cuts", metavar="[CUT...]", nargs=-1)
@click.option("--powder", default="steel-316l", show_default=True, help="powder card of all of them")
@click.option("--layer", default="", help='layer height, such as "50 um"; else the card\'s')
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(base: str, cuts: tuple[str, ...], powder: str, layer: str, as_json: bool) -> None:
    """Try each CUT with LOT at every share (lot files or lots of the ledger); without CUT, imagined ones."""
    from sagger.cli.progress import shown
    from sagger.desk.powder.blending import blend

    with shown() as tick:
        document, lines = blend(base, cuts, powder, layer, tick=tick)
    tell(document, lines, as_json=as_json)
