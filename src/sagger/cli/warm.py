"""`sagger warm`: compile what computes."""

from __future__ import annotations

import click


@click.command("warm")
def command() -> None:
    """Compile the kernels once, so that the first job does not wait for it."""
    from sagger.desk.warm import warm

    click.echo(f"compiled in {warm():.0f} s", err=True)
