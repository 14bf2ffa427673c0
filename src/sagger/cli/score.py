"""`sagger score`: what is foretold held against what was measured."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell


@click.command("score")
@click.argument("table", required=False, type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--into", type=click.Path(path_type=Path, file_okay=False), help="folder for a picture (SVG)")
@click.option("--printed", is_flag=True, help="the project's own table of runs in print")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(table: Path | None, into: Path | None, printed: bool, as_json: bool) -> None:
    """What would have been foretold of the measured runs in TABLE (CSV), and how often its intervals held.

    Without TABLE: the shop's own ledger, promised against met. docs/score.md lists the columns.
    """
    from sagger.desk.measuring import scoring
    from sagger.desk.planning import promised_met

    if table is None and not printed:
        document, lines = promised_met.scored()
    else:
        document, lines = scoring.scored(table, into)
    tell(document, lines, as_json=as_json)
