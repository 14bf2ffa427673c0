"""`sagger bleed`: how far binder creeps, from coupons of several sizes."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell


@click.command("bleed")
@click.argument("table", metavar="COUPONS.csv", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--powder", default="", metavar="CARD", help="powder card that the coupons were printed in")
@click.option("--keep", is_flag=True, help="keep what was found on the shop's own powder card")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(table: Path, powder: str, keep: bool, as_json: bool) -> None:
    """Fit bleed and scale to coupons: columns nominal_mm, measured_mm and, if wanted, axis (x, y or z)."""
    from sagger.desk.cards.trials import bleed, kept_on

    document, lines = bleed(table, kept_on(powder, keep))
    tell(document, lines, as_json=as_json)
