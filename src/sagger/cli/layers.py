"""`sagger layers`: what an exported folder would print."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from sagger.cli.output import tell


@click.command("layers")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--json", "as_json", is_flag=True, help="print what was found as JSON on stdout")
@click.option("--every-layer", is_flag=True, help="compare the outlines of every layer, not of two dozen")
def command(folder: Path, as_json: bool, every_layer: bool) -> None:
    """Read the layers in FOLDER, as `sagger plan` left it, and compare them with the parts in their places.

    Exit code 3 says that a piece misses a limit or that drops lie where no piece is.
    """
    from sagger import read_again
    from sagger.cli.progress import shown

    with shown() as tick:
        found = read_again(folder, every_layer=every_layer, tick=tick)
    tell(found.document, found.lines, as_json=as_json)
    sys.exit(3 if found.stopped else 0)
