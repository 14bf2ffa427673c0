"""`sagger offer`: what is offered for an order, as a paper to send."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell


@click.command("offer")
@click.argument("source", metavar="ORDER.toml|JOB")
@click.option(
    "--into", required=True, type=click.Path(path_type=Path, file_okay=False), help="folder of the papers"
)
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(source: str, into: Path, as_json: bool) -> None:
    """Offer a planned order: pieces, price, date, what is promised and what is not; PDF and page."""
    from sagger.desk.planning import offers

    document, lines = offers.written(source, into)
    tell(document, lines, as_json=as_json)
