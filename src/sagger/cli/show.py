"""`sagger show`: one job."""

from __future__ import annotations

import click

from sagger.cli.output import tell


@click.command("show")
@click.argument("job", type=int)
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(job: int, as_json: bool) -> None:
    """Show JOB: state, folder, the works it used and what they were made from."""
    from sagger.desk.planning.history import show

    document, lines = show(job)
    tell(document, lines, as_json=as_json)
