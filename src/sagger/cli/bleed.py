"""`sagger bleed`: how far binder creeps, from coupons of several sizes."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell


@click.command("bleed")
@click.argument("table", metavar="COUPONS.csv", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--card", default="", metavar="POWDER", help="write what was found to the shop's own powder card"
)
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(table: Path, card: str, as_json: bool) -> None:
    """Fit bleed and scale to coupons: columns nominal_mm, measured_mm and, if wanted, axis (x, y or z)."""
    from sagger.desk.trials import bleed

    document, lines = bleed(table, card)
    tell(document, lines, as_json=as_json)
