"""`sagger serve`: the bench in a browser."""

from __future__ import annotations

from contextlib import suppress
from typing import TypedDict, Unpack

import click


class Tls(TypedDict):
    """How the way to the bench is kept private."""

    certificate: str
    key: str
    proxies: tuple[str, ...]


@click.command("serve")
@click.option("--host", default="", help="address to listen on; left out: this machine only")
@click.option("--port", default=8210, show_default=True, help="port to listen on")
@click.option(
    "--name", "names", multiple=True, help="further name by which browsers call it; may be repeated"
)
@click.option("--certificate", default="", help="PEM file, for TLS")
@click.option("--key", default="", help="PEM file of its key")
@click.option(
    "--proxy", "proxies", multiple=True, help="address of a server in front that brings TLS; may be repeated"
)
def command(host: str, port: int, names: tuple[str, ...], **tls: Unpack[Tls]) -> None:
    """Open the bench: the whole job in the browser. Ctrl-C closes it; jobs under way go on.

    It listens on this machine only, unless --host says otherwise; then it needs accounts (`sagger people`).
    """
    from sagger.web.serve import serve, warning

    shown = f"[{host}]" if ":" in host else host or "127.0.0.1"
    click.echo(
        f"the bench is at http{'s' if tls['certificate'] else ''}://{shown}:{port}  (Ctrl-C closes it)",
        err=True,
    )
    secure = bool(tls["certificate"] or tls["proxies"])
    if words := warning(host, secure=secure):
        click.echo(words, err=True)
    with suppress(KeyboardInterrupt):  # it ends without one if it is stopped while it starts
        serve(host, port, names, **tls)
    click.echo("closed; jobs under way go on", err=True)
