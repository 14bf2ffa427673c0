"""`sagger ladder`: coupons at rising saturations, laid out and read."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell


@click.group("ladder")
def command() -> None:
    """Find the saturation that powder and binder hold together."""


@command.command("plan")
@click.option("--into", required=True, type=click.Path(path_type=Path, file_okay=False), help="folder")
@click.option("--powder", default="steel-316l", show_default=True, help="powder card")
@click.option("--binder", default="", help="binder card")
@click.option("--head", default="head-800", show_default=True, help="head card")
@click.option("--box", default="", help="box card")
@click.option("--least", default=50.0, show_default=True, help="saturation of the first rung, %")
@click.option("--most", default=110.0, show_default=True, help="saturation of the last rung, %")
@click.option("--rungs", default=7, show_default=True, help="how many")
def plan(into: Path, least: float, most: float, rungs: int, **cards: str) -> None:
    """Lay out an order with square coupons of three sizes on every rung, and a table for readings."""
    from sagger.desk.cards import trials

    asked = trials.LadderInput(least=least / 100, most=most / 100, rungs=rungs, **cards)
    _, lines = trials.rungs(into, asked)
    click.echo("\n".join(lines))


@command.command("read")
@click.argument("table", metavar="READINGS.csv", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--powder", default="", metavar="CARD", help="powder card that the coupons were printed in")
@click.option("--keep", is_flag=True, help="keep what was found on the shop's own powder card")
@click.option("--strength", type=float, help="green strength that is needed, MPa")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def read(table: Path, powder: str, keep: bool, strength: float | None, as_json: bool) -> None:
    """Read a filled-in ladder: saturation_percent, nominal_mm, measured_mm, if wanted strength_MPa."""
    from sagger.desk.cards.trials import kept_on, ladder

    document, lines = ladder(table, kept_on(powder, keep), strength)
    tell(document, lines, as_json=as_json)


@command.command("suction")
@click.argument("table", metavar="CURVE.csv", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--powder", default="", metavar="CARD", help="powder card that the coupons were printed in")
@click.option("--keep", is_flag=True, help="keep what was found on the shop's own powder card")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def suction(table: Path, powder: str, keep: bool, as_json: bool) -> None:
    """Fit a suction curve: columns suction_kPa and saturation_percent."""
    from sagger.desk.cards.trials import kept_on, suction

    document, lines = suction(table, kept_on(powder, keep))
    tell(document, lines, as_json=as_json)
