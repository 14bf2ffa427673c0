"""`sagger check`: what a part file holds, and whether the process can make it."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from sagger.cli.output import tell
from sagger.cli.plan import cards_asked


@click.command("check")
@click.argument("sources", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="print the findings as JSON on stdout")
@click.option("--unit", default="", help="unit of files that carry none: um, mm, cm, m, in")
@click.option("--scale", default=1.0, help="size of the part before anything else")
@cards_asked
def command(sources: tuple[Path, ...], as_json: bool, **said: object) -> None:
    """Check part files or order files against the cards."""
    from sagger.cli.progress import shown
    from sagger.desk.check import check
    from sagger.desk.orders import wish
    from sagger.errors import InputError

    checked, refused = [], list[tuple[Path, InputError]]()
    with shown() as tick:
        for source in sources:
            try:
                checked.append(check(source, wish(**said), tick=tick))
            except InputError as error:
                refused.append((source, error))
    document = {
        "schema": "sagger-check/1",
        "parts": [part for each in checked for part in each.documents],
        "refused": [{"file": str(source), "why": str(error)} for source, error in refused],
    }
    tell(document, [line for each in checked for line in each.lines], as_json=as_json)
    for _, why in refused:
        click.echo(f"refused: {why}", err=True)
    sys.exit(2 if refused else 3 if any(each.stopped for each in checked) else 0)
