"""`sagger judge`: what was measured against what was asked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Unpack

import click

from sagger.cli.output import tell

if TYPE_CHECKING:
    from sagger.desk.measuring.judging import JudgeWords

AS_JSON = click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")


@click.group("judge")
def command() -> None:
    """What was measured against what was asked, and how good the gauge is."""


@command.command("lengths")
@click.argument("tolerance")
@click.option("--part", default="", help="only of this part or kind of coupon")
@click.option("--box", default="", help="only of this printed box")
@click.option("--powder", default="", help="only of boxes booked with this powder card")
@click.option("--into", type=click.Path(path_type=Path, file_okay=False), help="folder for charts (SVG)")
@AS_JSON
def lengths(tolerance: str, part: str, into: Path | None, as_json: bool, **asked: str) -> None:
    """Finished lengths against TOLERANCE ("0.2 mm", "0.5 %", "ISO 2768-m"): verdicts, capability, charts."""
    from sagger.desk.measuring import judging

    document, lines = judging.lengths(tolerance, part, into, **asked)
    tell(document, lines, as_json=as_json)


@command.command("dimensions")
@click.option("--job", type=int, default=0, help="only of boxes printed by the plan of this job")
@click.option("--part", default="", help="only of this part")
@click.option("--box", default="", help="only of this printed box")
@click.option("--powder", default="", help="only of boxes booked with this powder card")
@click.option("--into", type=click.Path(path_type=Path, file_okay=False), help="folder for charts (SVG)")
@AS_JSON
def dimensions(into: Path | None, as_json: bool, **asked: Unpack[JudgeWords]) -> None:
    """Readings of lines of the drawing against their own limits: verdicts, capability, charts."""
    from sagger.desk.measuring import judging

    document, lines = judging.dimensions(into, **asked)
    tell(document, lines, as_json=as_json)


@command.command("gauge")
@click.argument("instrument")
@AS_JSON
def gauge(instrument: str, as_json: bool) -> None:
    """How much of a scatter is INSTRUMENT, from sizes that several persons read several times."""
    from sagger.desk.measuring import judging

    document, lines = judging.gauge(instrument)
    tell(document, lines, as_json=as_json)
