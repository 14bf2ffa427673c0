"""What a command prints: lines for a person, or one JSON document."""

from __future__ import annotations

import json

import click


def tell(document: object, lines: list[str], *, as_json: bool) -> None:
    """Print the document on stdout if JSON was asked for, otherwise the lines."""
    from sagger.goods.good import plain

    click.echo(json.dumps(plain(document), indent=1, ensure_ascii=False) if as_json else "\n".join(lines))
