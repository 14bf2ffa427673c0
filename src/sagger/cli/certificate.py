"""`sagger certificate`: what was measured on the pieces of a job, as a paper to send with them."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell


@click.command("certificate")
@click.argument("job", type=int)
@click.option(
    "--into", required=True, type=click.Path(path_type=Path, file_okay=False), help="folder of the papers"
)
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(job: int, into: Path, as_json: bool) -> None:
    """Certify what was measured on the pieces of JOB: sizes, density, lot, furnace run; PDF and page."""
    from sagger.desk.measuring import certifying

    document, lines = certifying.written(job, into)
    tell(document, lines, as_json=as_json)
