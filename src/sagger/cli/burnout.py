"""`sagger burnout`: a thermobalance's table into the burnout figures of an own powder card."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell


@click.command("burnout")
@click.argument("table", metavar="TABLE.csv", type=click.Path(path_type=Path))
@click.option("--from", "low", default=200.0, show_default=True, help="where the binder begins to leave, °C")
@click.option("--to", "high", default=550.0, show_default=True, help="where it is gone, °C")
@click.option(
    "--rate", default=10.0, show_default=True, help="heating rate at which the card states the peak, K/min"
)
@click.option("--powder", default="", metavar="CARD", help="powder whose card is told beside")
@click.option("--keep", is_flag=True, help="write the figures on the shop's own card of that powder")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(table: Path, powder: str, keep: bool, as_json: bool, **heat: float) -> None:
    """Evaluate runs of a thermobalance at three or more heating rates.

    TABLE.csv has the columns run, time_min, temperature_degC and mass (any unit). Measure your own green part
    in the gas it is debound in; figures of different sources do not go together.
    """
    from sagger.desk.cards import burnout

    if keep and not powder:
        raise click.UsageError("--keep needs --powder")
    low, high, rate = heat["low"], heat["high"], heat["rate"]
    if not low < high or rate <= 0:
        raise click.UsageError("--from must lie below --to, and --rate above 0")
    document, lines = burnout.evaluate(table, low + 273.15, high + 273.15, rate / 60, powder, keep)
    tell(document, lines, as_json=as_json)
