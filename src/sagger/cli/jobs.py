"""`sagger jobs`: the jobs of this shop."""

from __future__ import annotations

import click

from sagger.cli.output import tell


@click.command("jobs")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(as_json: bool) -> None:
    """List the jobs, newest first."""
    from sagger.desk.planning.history import jobs

    document, lines = jobs()
    tell(document, lines, as_json=as_json)
