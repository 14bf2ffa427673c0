"""`sagger people`: accounts of the bench."""

from __future__ import annotations

import click

from sagger.cli.output import tell


@click.group("people", invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
@click.pass_context
def command(context: click.Context, as_json: bool) -> None:
    """List who may come in; `add` opens an account or changes it, `close` closes one.

    Roles: look sees everything; plan also brings orders, changes and plans them; approve also approves plans
    and factors, and opens accounts.
    """
    from sagger.desk import people

    if context.invoked_subcommand:
        return
    rows = people.listed()
    lines = [f"{row['name']:<24} {row['role']:<8} since {row['made']}" for row in rows]
    document = {"schema": "sagger-people/1", "people": rows}
    tell(document, lines or ["no accounts; the bench is open to this machine's users"], as_json=as_json)


@command.command("add")
@click.argument("name")
@click.option(
    "--role", required=True, type=click.Choice(["look", "plan", "approve"]), help="what they may do"
)
@click.password_option(help="asked for if left out; better so")
def add(name: str, role: str, password: str) -> None:
    """Open an account for NAME, or give it another role and password."""
    from sagger.desk import people

    people.add(name, role, password)
    click.echo(f"{name} may {role}")


@command.command("close")
@click.argument("name")
def close(name: str) -> None:
    """Close the account of NAME; its sessions end."""
    from sagger.desk import people

    people.close(name)
    click.echo(f"{name} may not come in any more")
