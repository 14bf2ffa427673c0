"""`sagger factors`: the approved oversize factors."""

from __future__ import annotations

import click

from sagger.cli.output import tell


@click.group("factors", invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
@click.pass_context
def command(context: click.Context, as_json: bool) -> None:
    """List the approved factors, newest first; `approve` adds an entry."""
    from sagger.desk.approvals import factors

    if context.invoked_subcommand:
        return
    document, lines = factors()
    tell(document, lines, as_json=as_json)


@command.command("approve")
@click.argument("material", metavar="POWDER")
@click.option("--k", nargs=3, type=float, required=True, help="green over finished length along x, y, z")
@click.option("--u", nargs=3, type=float, required=True, help="standard uncertainty of each")
@click.option("--person", required=True, help="who approves")
@click.option("--reason", required=True, help="from which readings")
def approve(
    material: str, k: tuple[float, float, float], u: tuple[float, float, float], person: str, reason: str
) -> None:
    """Approve oversize factors for POWDER. The entry before stays in the ledger."""
    from sagger.desk import approvals

    click.echo(approvals.approve(material, k, u, person, reason))
