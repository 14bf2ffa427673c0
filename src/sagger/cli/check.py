"""`sagger check`: what a part file holds, and whether the process can make it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Unpack

import click

from sagger.cli.output import tell
from sagger.cli.plan import cards_asked

if TYPE_CHECKING:
    from sagger.desk.planning.orders import BareWords


@click.command("check")
@click.argument("sources", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="print the findings as JSON on stdout")
@click.option("--unit", default="", help="unit of files that carry none: um, mm, cm, m, in")
@click.option("--scale", default=1.0, help="size of the part before anything else")
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    help="folder for pictures of the parts with the numbers of their drawings",
)
@cards_asked
def command(sources: tuple[Path, ...], as_json: bool, into: Path | None, **words: Unpack[BareWords]) -> None:
    """Check part files or order files against the cards."""
    from sagger import InputError, check
    from sagger.cli.progress import shown

    checked, refused = [], list[tuple[Path, InputError]]()
    with shown() as tick:
        for source in sources:
            try:
                checked.append(check(source, tick=tick, **words))
            except InputError as error:
                refused.append((source, error))
    document = {
        "schema": "sagger-check/1",
        "parts": [part for outcome in checked for part in outcome.documents],
        "refused": [{"file": str(source), "why": str(error)} for source, error in refused],
    }
    lines = [line for outcome in checked for line in outcome.lines]
    if into is not None:
        several = len(checked) > 1  # pictures of each source apart
        pairs = enumerate(checked, start=1)
        lines += [line for n, one in pairs for line in one.drawn(into / str(n) if several else into)]
    tell(document, lines, as_json=as_json)
    for _, why in refused:
        click.echo(f"refused: {why}", err=True)
    sys.exit(2 if refused else 3 if any(outcome.stopped for outcome in checked) else 0)
