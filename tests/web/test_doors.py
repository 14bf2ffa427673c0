"""Who is let in: names of the bench, where a form leads, what a page may run."""

import jinja2
import pytest

from aside import done
from sagger.web import doors, enter, nonce
from sagger.web.doors import Doors, Rules, who


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
    done(Doors(app, rules or Rules())(scope, receive, send))
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
    assert answer("/leave", method="POST", origin="http://elsewhere.example")[0] == 403
    assert answer("/leave", method="POST", origin="http://localhost:8210")[0] == 200
    assert answer("/api/job/1", sec_fetch_site="cross-site")[0] == 403
    assert answer("/job/1", sec_fetch_site="cross-site", sec_fetch_mode="navigate")[0] == 200  # a link


def test_the_door_closes_once_there_is_an_account(monkeypatch):
    there = []
    monkeypatch.setattr(doors.people, "behind", lambda token: None)
    rules = Rules(accounts=lambda: bool(there))
    assert answer("/cards", rules)[0] == 200
    there.append("Ann")
    assert who("", rules) is None
    assert answer("/cards", rules)[0] == 401
    status, said, reached = answer("/cards", rules, accept="text/html")
    assert (status, said["location"], reached) == (303, "/enter?then=/cards", False)


def test_a_body_that_is_announced_too_large_is_refused():
    assert answer("/enter", method="POST", content_length=str(2 << 20))[0] == 413


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
def test_coming_in_leads_to_no_other_site(then, leads):
    assert enter._own(then) == leads
