"""Starting the bench."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from pathlib import Path

from sagger.desk import people
from sagger.desk.home import home
from sagger.errors import InputError
from sagger.web.doors import LOOPBACK, Doors, Rules

PORT = 8210
TEND_S = 1.0  # between two looks after jobs


def serve(
    host: str = "", port: int = PORT, names: tuple[str, ...] = (), certificate: str = "", key: str = ""
) -> None:
    """Serve the bench until it is stopped.

    Parameters
    ----------
    host : str
        Address to listen on; "" = this machine only.
    port : int
        Port to listen on.
    names : tuple of str
        Further names by which browsers call this bench, such as that of the machine in the shop's network.
    certificate, key : str
        PEM files for TLS; "" = none.

    Raises
    ------
    InputError
        If it should listen to the network and nobody has an account.
    """
    rules = _rules(host, names, bool(certificate))
    folder = home()
    (folder / "inbox").mkdir(parents=True, exist_ok=True)
    os.environ["NICEGUI_STORAGE_PATH"] = str(folder / "bench")
    from nicegui import app, ui
    from nicegui.client import templates

    from sagger.desk import painter, runs
    from sagger.web import api, enter, looks, nonce, pages

    app.state.rules, app.state.tries = rules, {}
    app.include_router(api.router)
    app.include_router(looks.router)
    app.include_router(enter.router)
    app.add_static_files("/bench", Path(__file__).parent / "static")
    app.add_middleware(Doors, rules=rules)
    nonce.mark(templates.env)
    pages.put_up()
    app.on_startup(runs.tend)
    app.on_startup(painter.begin)
    app.on_shutdown(painter.end)
    app.timer(TEND_S, runs.tend)
    ui.run(
        host=host or LOOPBACK[0],
        port=port,
        title="Sagger",
        favicon=Path(__file__).parent / "static" / "mark.svg",
        show=False,
        reload=False,
        tailwind=False,
        show_welcome_message=False,
        reconnect_timeout=10.0,
        language="en-GB",
        timeout_graceful_shutdown=3,
        server_header=False,
        ssl_certfile=certificate or None,
        ssl_keyfile=key or None,
    )


def asked_for() -> Callable[[], bool]:
    """Says whether there is an account; once there was one, it stays so until the bench is started anew."""
    seen = threading.Event()

    def asked() -> bool:
        if not seen.is_set() and people.listed():
            seen.set()
        return seen.is_set()

    return asked


def _rules(host: str, names: tuple[str, ...], secure: bool) -> Rules:
    accounts = asked_for()
    if host not in ("", *LOOPBACK) and not accounts():
        what = "a bench that listens to the network needs accounts, and there is none"
        remedy = "Make one: sagger people add NAME --role approve."
        raise InputError(what, field="host", value=host, remedy=remedy)
    return Rules(hosts=(*LOOPBACK, host.lower(), *map(str.lower, names)), accounts=accounts, secure=secure)
