"""`sagger cards`: the cards on file."""

from __future__ import annotations

import click

from sagger.cli.output import tell


@click.command("cards")
@click.argument("kind", required=False, default="")
@click.argument("name", required=False, default="")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def command(kind: str, name: str, as_json: bool) -> None:
    """List the cards; with KIND those of one kind; with KIND and NAME every figure of one card."""
    from sagger.desk.cards import shelf

    document, lines = shelf.described(kind, name) if name else shelf.listed(*([kind] if kind else []))
    tell(document, lines, as_json=as_json)
