"""`sagger calibrate`: a powder's own sintering figures, from coupons."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell

Table = click.Path(path_type=Path, dir_okay=False)


@click.group("calibrate")
def command() -> None:
    """Plan coupons that measure how a powder sinters and sags, and evaluate them."""


@command.command("plan")
@click.argument("powder", metavar="POWDER")
@click.option(
    "--into", required=True, type=click.Path(path_type=Path, file_okay=False), help="folder of results"
)
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def plan(powder: str, into: Path, as_json: bool) -> None:
    """Leave coupons, an order for them and tables to fill in, and say what to measure."""
    from sagger.desk.cards.coupon_plan import planned

    document, lines = planned(powder, into)
    tell(document, lines, as_json=as_json)


@command.command("evaluate")
@click.argument("powder", metavar="POWDER")
@click.option("--coupons", type=Table, help="cubes and bridges, as the plan's coupons.csv")
@click.option("--firings", type=Table, help="programmes other than the card's, as the plan's firings.csv")
@click.option("--runs", type=Table, help="dilatometer: run, time_min, temperature_degC, density_percent")
@click.option("--reading", default=0.01, show_default=True, help="standard uncertainty of a length, mm")
@click.option("--thermometer", default=3.0, show_default=True, help="and of the temperature of a run, K")
@click.option("--keep", is_flag=True, help="write the figures on the shop's own powder card")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def evaluate(
    powder: str, reading: float, thermometer: float, keep: bool, as_json: bool, **tables: Path | None
) -> None:
    """Evaluate coupons or dilatometer runs of POWDER into the sintering figures of its card.

    Runs may hold shrinkage_percent in place of density_percent. Rows that cannot be read are named by line
    and column and left out.
    """
    from sagger.desk.cards.calibration import CalibrationInput
    from sagger.desk.cards.calibration import evaluate as evaluated

    if tables["coupons"] is None and tables["runs"] is None:
        raise click.UsageError("give --coupons, --runs or both")
    if reading <= 0 or thermometer <= 0:
        raise click.UsageError("--reading and --thermometer must be above 0")
    asked = CalibrationInput(powder=powder, reading_mm=reading, thermometer=thermometer, keep=keep, **tables)
    document, lines = evaluated(asked)
    tell(document, lines, as_json=as_json)
