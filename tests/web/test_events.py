"""Each event that a page hears and each address has a role, and whoever lacks it is not heard."""

import ast
from pathlib import Path

import pytest

from aside import done
from sagger.desk import home, people
from sagger.desk.measuring import approvals, readings
from sagger.ledger import entries, tables
from sagger.web import routes
from sagger.web.security import AccessRules, SecurityMiddleware
from visitor import EMPTY, PASSWORD, visit

WEB = Path(__file__).parents[2] / "src" / "sagger" / "web"
SOCKET = {"connect", "handshake", "disconnect", "event", "javascript_response", "ack", "log"}
HEARS = ("on", "on_click", "on_event", "on_upload", "on_keyboard")
DOUBT = "standard uncertainty of one reading"
ROLES = (None, *people.ROLES)


@pytest.fixture(scope="module", autouse=True)
def staff(shop):
    people.add("Ann", "approve", PASSWORD)
    people.add("Paul", "plan", PASSWORD)
    people.add("Lou", "look", PASSWORD)
    return shop


def calls():
    """Every call of a method in the pages, with its file and line."""
    for path in sorted(WEB.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                yield path.relative_to(WEB).as_posix(), node


def test_no_page_hears_an_event_past_the_rules():
    wrong = [
        f"{file}:{call.lineno}"
        for file, call in calls()
        if call.func.attr in HEARS
        and not (isinstance(call.func.value, ast.Name) and call.func.value.id == "events")
        and file != "events.py"
    ]
    by_word = [
        f"{file}:{call.lineno}" for file, call in calls() for word in call.keywords if word.arg in HEARS
    ]
    assert (wrong, by_word) == ([], [])


def test_the_socket_takes_nothing_but_what_is_known_here():
    from nicegui import core

    assert set(core.sio.handlers["/"]) <= SOCKET


def below(path, method, role, rules):
    """Status that someone of a role is answered, and whether the request reached the application."""
    reached, sent = [], []

    async def app(scope, receive, send):
        reached.append(scope["path"])
        await send({"type": "http.response.start", "status": 200, "headers": []})

    async def send(message):
        sent.append(message)

    async def receive():
        return {"type": "http.request", "body": b""}

    scope = {"type": "http", "method": method, "path": path, "query_string": b""}
    scope["headers"] = [(b"host", b"localhost")]
    done(SecurityMiddleware(app, rules)(scope, receive, send))
    return sent[0]["status"], reached == [path]


@pytest.mark.parametrize("rule", routes.RULES, ids=lambda rule: f"{rule.methods[0]} {rule.path}")
def test_every_address_is_reached_by_those_who_may_and_by_nobody_else(monkeypatch, rule):
    path = rule.path.replace("{", "").replace("}", "").replace(":path", "")
    rules = AccessRules(accounts=lambda: True)
    method = "GET" if "GET" in rule.methods else "POST"
    for place, role in enumerate(ROLES):
        someone = role and people.User("A", role, "")
        monkeypatch.setattr("sagger.web.security.people.of_session", lambda token, who=someone: who)
        monkeypatch.setattr("sagger.web.security.session_person", lambda cookies, rules, who=someone: who)
        status, reached = below(path, method, role, rules)
        enough = not rule.may or place >= ROLES.index(rule.may)
        assert reached == enough, role
        assert enough or status == (401 if role is None else 403)


def test_an_address_without_a_rule_is_not_there():
    assert below("/metrics", "GET", "approve", AccessRules()) == (200, False)  # sent to where nothing is
    assert below("/cards", "DELETE", "approve", AccessRules()) == (200, False)


@pytest.mark.slow
def test_every_address_of_the_application_has_a_rule_and_every_rule_an_address():
    async def walk(visitor):
        from nicegui import app

        from sagger.web import api, login, picture_api

        routers = api.router, picture_api.router, login.router
        known = [*app.routes, *(route for router in routers for route in router.routes)]
        held = {(each.path, *sorted(getattr(each, "methods", None) or ())) for each in known}
        ruled = {(rule.path, method) for rule in routes.RULES for method in rule.methods}
        own = {
            (path, method)
            for path, *methods in held
            for method in methods
            if not path.startswith(("/_nicegui", "/openapi", "/docs", "/redoc"))
        }
        assert {(path, method) for path, method in own if method != "HEAD"} <= ruled
        paths = {path for path, _ in own}
        served = {"/bench/{file:path}", "/favicon.ico", "/_nicegui/{file:path}", "/_nicegui_ws/{file:path}"}
        assert {rule.path for rule in routes.RULES} - paths - served == set()

    visit(walk)


@pytest.mark.slow
def test_whoever_may_only_look_does_nothing_by_any_event_of_any_page():
    async def walk(visitor):
        from nicegui.testing.user_interaction import UserInteraction

        visitor.sign_in("Lou")
        before, tried = entries.check(home.ledger()).seal, 0
        for path in EMPTY:
            if path == "/new":
                continue
            await visitor.open(path)
            asked = [(element, each) for element, each, may in visitor.heard() if may in ("plan", "approve")]
            for element, each in asked:
                UserInteraction(visitor.user, {element}, None).trigger(each.type, "x")
                await visitor.sees("your account may look")
                tried += 1
        assert tried > 10
        assert entries.check(home.ledger()).seal == before
        assert len(people.listed()) == 3

    visit(walk, accounts=lambda: True)


@pytest.mark.slow
def test_who_acted_is_the_person_of_the_session_whatever_the_field_says():
    async def walk(visitor):
        visitor.sign_in("Ann")
        await visitor.open("/factors")
        factors = {f"factor along {axis}": "1.19" for axis in "xyz"}
        doubts = {f"its standard uncertainty along {axis}": "0.002" for axis in "xyz"}
        visitor.fill(factors | doubts | {"from which readings": "12", "approved by": "Somebody <b>Else"})
        visitor.press("Approve these factors")
        while not (rows := approvals.newest_first()):
            await visitor.wait()
        assert [row.person for row in rows] == ["Ann"]
        visitor.sign_in("Paul")
        await visitor.open("/readings")
        said = {
            "name": "calliper",
            "calibrated on": "2027-01-01",
            DOUBT: "0.005 mm",
            "entered by": "The Boss",
        }
        visitor.fill(said)
        visitor.press("Enter the instrument")
        while not readings.instruments()[0].instruments:
            await visitor.wait()
        with home.ledger().reading() as connection:
            newest = connection.execute(tables.entry.select().order_by(tables.entry.c.id.desc())).first()
        assert (newest.what, newest.person) == ("instrument", "Paul")

    visit(walk, accounts=lambda: True)


@pytest.mark.slow
def test_an_event_that_was_attached_past_the_rules_is_not_heard():
    async def walk(visitor):
        from nicegui import Client

        from sagger.web import events

        await visitor.open("/cards")
        plain, heard = Client.handle_event, []
        events.fence()
        try:
            with visitor.user.client:
                element = next(iter(visitor.user.client.elements.values()))
                element.on("smuggled", heard.append)
                events.on(element, "ruled", heard.append, may="look")
            for listener in list(element._event_listeners.values()):
                message = {"id": element.id, "listener_id": listener.id, "args": ['"x"']}
                if listener.type in ("smuggled", "ruled"):
                    visitor.user.client.handle_event(message)
            for _ in range(10):
                await visitor.wait()
            assert heard == ["x"]
            visitor.user.client.handle_event({"id": 10**9, "listener_id": "none", "args": []})
        finally:
            Client.handle_event = plain

    visit(walk)


@pytest.mark.slow
def test_an_event_is_heard_only_of_those_who_may():
    """Each role sends an event that needs "plan" by hand, past every button."""

    async def walk(visitor):
        from sagger.web import events

        heard = []
        for name in ("Lou", "Paul", "Ann"):
            visitor.sign_in(name)
            await visitor.open("/cards")
            client = visitor.user.client
            with client:
                element = next(iter(client.elements.values()))
                events.on(element, "asked", heard.append, may="plan")
            for listener in list(element._event_listeners.values()):
                if listener.type == "asked":
                    client.handle_event({"id": element.id, "listener_id": listener.id, "args": [f'"{name}"']})
            for _ in range(10):
                await visitor.wait()
        assert heard == ["Paul", "Ann"]

    visit(walk, accounts=lambda: True)
