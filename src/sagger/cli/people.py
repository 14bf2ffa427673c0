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
    lines = [f"{user.name:<24} {user.role:<8} since {user.made}" for user in rows]
    document = {"schema": "sagger-people/1", "people": rows}
    tell(document, lines or ["no accounts; the bench is open to this machine's users"], as_json=as_json)


@command.command("add")
@click.argument("name")
@click.option(
    "--role", required=True, type=click.Choice(["look", "plan", "approve"]), help="what they may do"
)
def add(name: str, role: str) -> None:
    """Open an account for NAME, or give it another role and password, which is asked for.

    It is taken from the terminal or from standard input, never from the command line, which others can read.
    """
    from sagger.desk import people

    password = click.prompt("Password", hide_input=True, confirmation_prompt=True)
    people.add(name, role, password)
    click.echo(f"{name} may {role}")


@command.command("close")
@click.argument("name")
def close(name: str) -> None:
    """Close the account of NAME; its sessions end."""
    from sagger.desk import people

    people.close(name)
    click.echo(f"{name} may not come in any more")
