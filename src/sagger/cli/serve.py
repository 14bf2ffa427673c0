"""`sagger serve`: the bench in a browser."""

from __future__ import annotations

import click


@click.command("serve")
@click.option("--host", default="", help="address to listen on; left out: this machine only")
@click.option("--port", default=8210, show_default=True, help="port to listen on")
@click.option(
    "--name", "names", multiple=True, help="further name by which browsers call it; may be repeated"
)
@click.option("--certificate", default="", help="PEM file, for TLS")
@click.option("--key", default="", help="PEM file of its key")
def command(host: str, port: int, names: tuple[str, ...], certificate: str, key: str) -> None:
    """Open the bench: the whole job in the browser. Ctrl-C closes it; jobs under way go on.

    It listens on this machine only, unless --host says otherwise; then it needs accounts (`sagger people`).
    """
    from sagger.web.serve import serve

    shown = f"[{host}]" if ":" in host else host or "127.0.0.1"
    click.echo(
        f"the bench is at http{'s' if certificate else ''}://{shown}:{port}  (Ctrl-C closes it)", err=True
    )
    serve(host, port, names, certificate, key)
