"""`sagger ledger`: keeping what is booked."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell

AS_JSON = click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")


@click.group("ledger")
def command() -> None:
    """Look at all of the ledger, copy it, bring a copy back, take it out in open formats, tidy it."""


@command.command("check")
@click.option("--seal", default="", help="the seal that was noted elsewhere: no end was cut off since")
@AS_JSON
def check(seal: str, as_json: bool) -> None:
    """Look at every byte: pages, entries, accounts, jobs, results, arrays. Exit code 4 if not whole."""
    from sagger.cli.progress import shown
    from sagger.desk import keeping

    with shown() as tick:
        document, lines = keeping.check(seal, tick=tick)
    tell(document, lines, as_json=as_json)


@command.command("clock")
@click.option("--person", required=True, envvar="SAGGER_PERSON", help="who says so")
@click.option("--reason", required=True, help="why the newest entry has a later time")
def clock(person: str, reason: str) -> None:
    """Say that this machine's clock is right, where the newest entry was made by one that was ahead."""
    from sagger.desk import keeping

    click.echo(keeping.clock(person, reason))


@command.command("backup")
@click.argument("into", metavar="COPY.zip", type=click.Path(path_type=Path, dir_okay=False))
@AS_JSON
def backup(into: Path, as_json: bool) -> None:
    """Copy all of it into one new file, while others go on working: rows, arrays, orders, own cards."""
    from sagger.desk import keeping

    document, lines = keeping.backup(into)
    tell(document, lines, as_json=as_json)


@command.command("restore")
@click.argument("copy", metavar="COPY.zip", type=click.Path(path_type=Path, dir_okay=False))
@AS_JSON
def restore(copy: Path, as_json: bool) -> None:
    """Bring a copy back, row by row as it was, into a SAGGER_HOME that holds no ledger; then look at it."""
    from sagger.desk import keeping

    document, lines = keeping.restore(copy)
    tell(document, lines, as_json=as_json)


@command.command("export")
@click.argument("into", metavar="FOLDER", type=click.Path(path_type=Path, file_okay=False))
@AS_JSON
def export(into: Path, as_json: bool) -> None:
    """Write all of it into a new folder: tables as CSV and JSON lines, arrays as NPY, orders and cards."""
    from sagger.desk import keeping

    document, lines = keeping.export(into)
    tell(document, lines, as_json=as_json)


@command.command("tidy")
@click.option("--days", default=90.0, show_default=True, help="results that are younger stay")
@click.option("--do", "do", is_flag=True, help="take it out; without it, it is only told")
@AS_JSON
def tidy(days: float, do: bool, as_json: bool) -> None:
    """Tell which old results and drafts may go, and take them out. The book itself stays whole.

    Results stay of jobs that are younger, approved, printed, in the cell, or the newest of their order.
    """
    from sagger.desk import keeping

    document, lines = keeping.tidy(days, do=do)
    tell(document, lines, as_json=as_json)
