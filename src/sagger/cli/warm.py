"""`sagger warm`: compile what computes."""

from __future__ import annotations

import click


@click.command("warm")
@click.option("--all", "everything", is_flag=True, help="also what the example orders do not need")
def command(everything: bool) -> None:
    """Compile the kernels on every core, so that the first job does not wait for it.

    What is left is compiled when it is first called, and then kept.
    """
    from sagger.cli.progress import shown
    from sagger.desk.planning.warm import warm

    with shown() as tick:
        done = warm(everything=everything, tick=tick)
    click.echo(f"{done.ready} of {done.kernels} kernels ready after {done.seconds:.0f} s", err=True)
