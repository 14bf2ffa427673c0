"""What a request must pass: names of the bench, where a form leads, what a page may run."""

import asyncio

import jinja2
import pytest

from aside import done
from sagger.web import login, nonce, security, serve
from sagger.web.security import AccessRules, SecurityMiddleware, session_person


def answer(path, rules=None, method="GET", **headers):
    """Status and headers of one request, and whether it reached the application."""
    sent, reached = [], []

    async def app(scope, receive, send):
        reached.append(scope)
        await send({"type": "http.response.start", "status": 200, "headers": []})

    async def send(message):
        sent.append(message)

    async def receive():
        return {"type": "http.request", "body": b""}

    pairs = {"host": "localhost:8210"} | {name.replace("_", "-"): text for name, text in headers.items()}
    raw = [(name.encode(), text.encode()) for name, text in pairs.items()]
    scope = {"type": "http", "method": method, "path": path, "headers": raw, "query_string": b""}
    done(SecurityMiddleware(app, rules or AccessRules())(scope, receive, send))
    said = {name.decode(): text.decode() for name, text in sent[0]["headers"]}
    return sent[0]["status"], said, bool(reached)


@pytest.mark.parametrize("host", ["localhost:8210", "127.0.0.1", "[::1]:8210", "LOCALHOST:1"])
def test_the_bench_answers_to_its_own_names(host):
    assert answer("/", host=host)[0] == 200


@pytest.mark.parametrize("host", ["elsewhere.example", "localhost.elsewhere.example", "", "[::2]:8210"])
def test_the_bench_does_not_answer_to_another_name(host):
    status, _, reached = answer("/", host=host)
    assert (status, reached) == (421, False)


def test_a_change_that_comes_from_another_site_is_refused():
    assert answer("/logout", method="POST", origin="http://elsewhere.example")[0] == 403
    assert answer("/logout", method="POST", origin="http://localhost:8210")[0] == 200
    assert answer("/api/job/1", sec_fetch_site="cross-site")[0] == 403
    assert answer("/job/1", sec_fetch_site="cross-site", sec_fetch_mode="navigate")[0] == 200  # a link


def test_a_session_is_needed_once_there_is_an_account(monkeypatch):
    there = []
    monkeypatch.setattr(security.people, "of_session", lambda token: None)
    rules = AccessRules(accounts=lambda: bool(there))
    assert answer("/cards", rules)[0] == 200
    there.append("Ann")
    assert session_person("", rules) is None
    assert answer("/cards", rules)[0] == 401
    status, said, reached = answer("/cards", rules, accept="text/html")
    assert (status, said["location"], reached) == (303, "/login?then=/cards", False)


def test_a_request_without_a_name_of_the_bench_is_refused_whatever_the_bench_is_called(monkeypatch):
    monkeypatch.setattr(serve, "accounts_exist", lambda: lambda: True)
    assert "" not in serve._rules("", (), secure=False).hosts
    assert answer("/", AccessRules(hosts=("",)), host="")[0] == 421


def test_beyond_this_machine_the_way_is_private_or_one_is_warned():
    assert serve.warning("127.0.0.1", secure=False) == serve.warning("", secure=False) == ""
    assert serve.warning("0.0.0.0", secure=True) == ""
    assert "--certificate" in serve.warning("0.0.0.0", secure=False)
    assert answer("/", AccessRules(secure=True))[1]["strict-transport-security"].startswith("max-age=")
    assert "strict-transport-security" not in answer("/")[1]


@pytest.mark.parametrize("proxies", [(), ("192.0.2.1",)])
def test_a_proxy_is_believed_only_where_it_was_named(monkeypatch, tmp_path, proxies):
    """Else whoever is asked from this machine could be anybody, and tries be counted for anybody."""
    from nicegui import ui

    from sagger.desk.planning import warm

    asked = {}
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.setattr(ui, "run", lambda **words: asked.update(words))
    monkeypatch.setattr(serve, "_build", lambda app, rules: asked.update(secure=rules.secure))
    monkeypatch.setattr(warm, "in_background", lambda: None)
    serve.serve(proxies=proxies)
    assert (asked["proxy_headers"], asked["forwarded_allow_ips"]) == (bool(proxies), list(proxies))
    assert asked["secure"] == bool(proxies)


@pytest.mark.parametrize("length", ["-1", "1e9", "9" * 20, "\u0663"])
def test_a_length_that_is_none_is_refused(length):
    assert answer("/login", method="POST", content_length=length.encode().decode("latin-1"))[0] == 400


def test_a_body_that_trickles_is_given_up(monkeypatch):
    monkeypatch.setattr(security, "BODY_S", 0.01)
    calls = []

    async def receive():
        calls.append(1)
        await asyncio.sleep(5)

    assert done(security._limited(receive, 10)()) == {"type": "http.disconnect"}
    assert calls == [1]


def test_a_body_that_is_announced_too_large_is_refused():
    assert answer("/login", method="POST", content_length=str(2 << 20))[0] == 413


def test_every_answer_has_a_word_of_its_own_and_papers_have_none():
    words = {answer("/")[1]["content-security-policy"] for _ in range(3)}
    assert len(words) == 3
    assert not any("unsafe-inline" in each.partition("script-src ")[2].partition(";")[0] for each in words)
    assert "script" not in answer("/files/job/1/traveller.html")[1]["content-security-policy"]


def test_the_word_is_on_the_scripts_of_a_template_and_not_on_what_is_filled_in():
    environment = jinja2.Environment(
        loader=jinja2.DictLoader({"page": "<script>1</script>{{ filled | safe }}"}), autoescape=True
    )
    nonce.mark(environment)
    request = type("Request", (), {"state": type("State", (), {"nonce": "abc"})})
    made = environment.get_template("page").render(request=request, filled="<script>2</script>")
    assert made == '<script nonce="abc">1</script><script>2</script>'


@pytest.mark.parametrize(
    ("then", "leads"),
    [
        ("/cards?x=1", "/cards?x=1"),
        ("//elsewhere.example", "/"),
        ("/\\elsewhere.example", "/"),
        ("http://elsewhere.example", "/"),
        ("/x\r\nSet-Cookie: a=b", "/"),
    ],
)
def test_signing_in_leads_to_no_other_site(then, leads):
    assert login._local_path(then) == leads
