"""`sagger learn`: what coupons and readings say."""

from __future__ import annotations

from pathlib import Path

import click

from sagger.cli.output import tell

AS_JSON = click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
PERSON = click.option("--person", required=True, envvar="SAGGER_PERSON", help="who does this")


@click.group("learn")
def command() -> None:
    """What coupons and readings say: labels, new factors, the map of a bed."""


@command.command("label")
@click.argument("dots")
@AS_JSON
def label(dots: str, as_json: bool) -> None:
    """Series and place of the coupon with DOTS: four rows of 0 and 1 from the bar on."""
    from sagger.desk.measuring.learning import label as read

    document, lines = read(dots)
    tell(document, lines, as_json=as_json)


@command.command("propose")
@click.argument("material", metavar="POWDER")
@click.option("--box", default="", metavar="CARD", help="box card whose bed is to be mapped")
@click.option(
    "--only", multiple=True, metavar="BOX", help="only readings from this printed box; may be repeated"
)
@click.option("--lot", default="", help="only readings of this lot, for factors that hold for it alone")
@PERSON
@AS_JSON
def propose(material: str, box: str, only: tuple[str, ...], lot: str, person: str, as_json: bool) -> None:
    """Learn from the readings of POWDER: factors, scatter, map; in force once approved."""
    from sagger.desk.measuring import learning

    document, lines = learning.propose(material, box, only, person, lot)
    tell(document, lines, as_json=as_json)


@command.command("approve")
@click.argument("number", metavar="PROPOSAL", type=int)
@PERSON
@click.option("--reason", required=True, help="why it is right")
def approve(number: int, person: str, reason: str) -> None:
    """Put PROPOSAL in force: its factors, scatter and map. What was in force before stays in the ledger."""
    from sagger.desk.measuring import learning

    click.echo(learning.approve(number, person, reason))


@command.command("bed")
@click.argument("material", metavar="POWDER")
@click.argument("box", metavar="BOX")
@click.option("--into", type=click.Path(path_type=Path, dir_okay=False), help="file for a picture (SVG)")
@AS_JSON
def bed(material: str, box: str, into: Path | None, as_json: bool) -> None:
    """How even the bed of POWDER in BOX is, by the approved map."""
    from sagger.desk.measuring import learning

    document, lines = learning.bed(material, box, into)
    tell(document, lines, as_json=as_json)
