"""Starting the bench."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from sagger.desk import people
from sagger.desk.home import home
from sagger.errors import InputError
from sagger.web.half_open import PatientProtocol
from sagger.web.security import LOOPBACK, AccessRules, SecurityMiddleware
from sagger.web.tries import Tries

if TYPE_CHECKING:
    from nicegui import App

PORT = 8210
MOST_OF_SOCKET = 4 << 20  # bytes of one message: a form of an order has a thousandth
MOST_AT_ONCE = 2000  # connections and requests
TEND_S = 1.0  # between two checks of the jobs


def serve(
    host: str = "",
    port: int = PORT,
    names: tuple[str, ...] = (),
    *,
    certificate: str = "",
    key: str = "",
    proxies: tuple[str, ...] = (),
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
    proxies : tuple of str
        Addresses of servers in front of this one that bring TLS; only what they say of a browser's address is
        believed.

    Raises
    ------
    InputError
        If it should listen to the network and nobody has an account.
    """
    rules = _rules(host, names, secure=bool(certificate or proxies))
    folder = home()
    os.environ["NICEGUI_STORAGE_PATH"] = str(folder / "bench")
    from nicegui import app, ui

    from sagger.desk.pictures import workers
    from sagger.desk.planning import runs, warm

    _build(app, rules)
    app.on_startup(runs.tend)
    app.on_startup(workers.begin)
    app.on_shutdown(workers.end)
    if compiling := warm.in_background():
        app.on_shutdown(compiling.terminate)
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
        http=PatientProtocol,
        ws_max_size=MOST_OF_SOCKET,
        limit_concurrency=MOST_AT_ONCE,
        proxy_headers=bool(proxies),
        forwarded_allow_ips=list(proxies),
        ssl_certfile=certificate or None,
        ssl_keyfile=key or None,
    )


def _build(app: App, rules: AccessRules) -> None:
    """Give the application its pages and addresses, behind what each request must pass."""
    from nicegui.client import templates

    from sagger.web import api, error_pages, events, login, nonce, pages, picture_api

    app.state.rules, app.state.tries = rules, Tries()
    for router in (api.router, picture_api.router, login.router):
        app.include_router(router)
    app.add_static_files("/bench", Path(__file__).parent / "static")
    app.add_middleware(SecurityMiddleware, rules=rules)
    nonce.mark(templates.env)
    events.fence()
    pages.register_all()
    error_pages.register(app)


def accounts_exist() -> Callable[[], bool]:
    """Says whether there is an account; once there was one, it stays so until the bench is started anew."""
    seen = threading.Event()

    def exist() -> bool:
        if not seen.is_set() and people.listed():
            seen.set()
        return seen.is_set()

    return exist


def beyond_loopback(host: str) -> bool:
    """Whether others than this machine can reach a bench that listens there."""
    return host not in ("", *LOOPBACK)


def warning(host: str, *, secure: bool) -> str:
    """What whoever opens the bench should know before others use it; "" = nothing."""
    if secure or not beyond_loopback(host):
        return ""
    return (
        "caution: without TLS, passwords and plans can be read and changed on their way through the network. "
        "Give --certificate and --key, or put a server in front that brings TLS and name it with --proxy."
    )


def _rules(host: str, names: tuple[str, ...], *, secure: bool) -> AccessRules:
    accounts = accounts_exist()
    if beyond_loopback(host) and not accounts():
        what = "a bench that listens to the network needs accounts, and there is none"
        remedy = "Make one: sagger people add NAME --role approve."
        raise InputError(what, field="host", value=host, remedy=remedy)
    own = (host.lower(),) if host else ()
    return AccessRules(hosts=(*LOOPBACK, *own, *map(str.lower, names)), accounts=accounts, secure=secure)
