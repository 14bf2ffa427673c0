"""`sagger learn`: what coupons and readings say."""

from __future__ import annotations

import click

from sagger.cli.output import tell


@click.group("learn")
def command() -> None:
    """What coupons say."""


@command.command("label")
@click.argument("dots")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def label(dots: str, as_json: bool) -> None:
    """Series and place of the coupon with DOTS: four rows of 0 and 1 from the bar on."""
    from sagger.desk.learning import label as read

    document, lines = read(dots)
    tell(document, lines, as_json=as_json)
