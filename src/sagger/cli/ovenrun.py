"""`sagger ovenrun`: the bed's conductivity from one thermocouple run."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell


@click.command("ovenrun")
@click.argument("table", metavar="RUN.csv", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--powder", default="", metavar="CARD", help="powder card, see `sagger cards`")
@click.option("--box", default="", metavar="CARD", help="box card")
@click.option("--oven", default="", metavar="CARD", help="oven card")
@click.option("--height", default="", help='of the powder, "240 mm"; the whole box if not said')
@click.option("--at", nargs=3, default=None, help='thermocouple: x y z, "200 mm" each; else the middle')
@click.option("--packing", default="", help='as spread, "0.57 -"; the powder card if not said')
@click.option("--keep", is_flag=True, help="write it on the shop's own powder card")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(table: Path, at: tuple[str, str, str] | None, keep: bool, as_json: bool, **words: str) -> None:
    """Fit the conductivity of loose powder to RUN.csv, read in a box of powder alone.

    Columns: time_s, time_min or time_h; oven_degC beside the box; core_degC in the powder.
    """
    from sagger.cli.progress import shown
    from sagger.desk.cards.ovenrun import OvenRunInput, fitted

    with shown() as tick:
        document, lines = fitted(table, OvenRunInput(at=at, keep=keep, **words), tick=tick)
    tell(document, lines, as_json=as_json)
