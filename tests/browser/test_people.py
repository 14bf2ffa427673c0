"""A shop's bench: who comes in, and what they may do."""

import subprocess
import sys

import pytest
from playwright.sync_api import expect

from browsing import choose

PASSWORD = "a long enough word"
ROLES = {"Ann": "approve", "Paul": "plan", "Lou": "look"}


@pytest.fixture(scope="module")
def bench(shop_of_people):
    return shop_of_people


@pytest.fixture(scope="module")
def shop_of_people(tmp_path_factory, new_bench):
    made = new_bench(tmp_path_factory.mktemp("shop"))
    for name, role in ROLES.items():
        made.say("people", "add", name, "--role", role, input=f"{PASSWORD}\n{PASSWORD}\n")
    yield made.open()
    made.close()


def sign_in(page, bench, name, password=PASSWORD, path="/"):
    page.goto(f"{bench.url}{path}")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def test_the_first_account_is_asked_for_at_once(chromium, new_bench, tmp_path):
    mine, page = new_bench(tmp_path), chromium.new_page()
    mine.open()
    try:
        page.goto(f"{mine.url}/people")
        page.get_by_label("name", exact=True).fill("Ann")
        page.get_by_label("password").fill(PASSWORD)
        choose(page, "may", "plan")
        page.get_by_role("button", name="Open it").click()
        expect(page.get_by_role("alert")).to_contain_text("nobody could approve")
        choose(page, "may", "approve")
        page.get_by_role("button", name="Open it").click()
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        assert page.request.get(f"{mine.url}/api/job/1").status == 401
        page.get_by_label("Name").fill("Ann")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        expect(
            page.get_by_role("table", name="Accounts").get_by_role("row", name="Ann approve")
        ).to_be_visible()
    finally:
        page.close()
        mine.close()


def test_nobody_sees_anything_before_coming_in(page, bench):
    for path in ("/", "/new", "/job/1", "/cards", "/people"):
        page.goto(f"{bench.url}{path}")
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    for path in ("/api/job/1", "/files/job/1/plan.json", "/_nicegui_ws/socket.io/?EIO=4&transport=polling"):
        assert page.request.get(f"{bench.url}{path}").status == 401
    assert page.request.post(f"{bench.url}/api/uploads/x/x.stl", headers={"X-Sagger": "1"}).status == 401


def test_the_way_in_is_readable_in_light_and_in_dark(page, bench, faint):
    for theme in ("light", "dark"):
        page.context.add_cookies([{"name": "sagger_theme", "value": theme, "url": bench.url}])
        page.goto(bench.url)
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        expect(page.locator("body")).to_have_class(
            "plain-page body--dark" if theme == "dark" else "plain-page"
        )
        assert faint(page) == []
    assert page.get_by_role("main").count() == 1


def test_one_comes_in_where_one_was_going_and_leaves(page, bench):
    page.allowed.append("403")
    sign_in(page, bench, "Lou", "a wrong one, though long", "/cards")
    expect(page.get_by_role("alert")).to_have_text("Name and password do not fit.")
    sign_in(page, bench, "Lou", path="/cards")
    expect(page.get_by_role("heading", name="Cards")).to_be_visible()
    cookie = next(each for each in page.context.cookies() if each["name"] == "sagger_session")
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
    page.get_by_role("button", name="Sign out").click()
    page.goto(bench.url)
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def test_the_one_who_looks_brings_no_order(page, bench):
    page.allowed.append("403")
    sign_in(page, bench, "Lou")
    page.goto(f"{bench.url}/new")
    expect(page.get_by_text("your account may look, this asks for plan")).to_be_visible()
    answer = page.request.post(f"{bench.url}/api/uploads/{'0' * 24}/x.stl", headers={"X-Sagger": "1"})
    assert (answer.status, "this asks for plan" in answer.text()) == (403, True)


def test_the_one_who_plans_approves_no_factors(page, bench):
    sign_in(page, bench, "Paul", path="/factors")
    for axis in "xyz":
        page.get_by_label(f"factor along {axis}").fill("1.19")
        page.get_by_label(f"its standard uncertainty along {axis}").fill("0.002")
    page.get_by_label("from which readings").fill("12 coupons")
    page.get_by_role("button", name="Approve these factors").click()
    expect(page.get_by_role("alert")).to_contain_text("this asks for approve")


def test_the_one_who_approves_does_so_in_their_own_name(page, bench):
    sign_in(page, bench, "Ann", path="/factors")
    for axis in "xyz":
        page.get_by_label(f"factor along {axis}").fill("1.19")
        page.get_by_label(f"its standard uncertainty along {axis}").fill("0.002")
    page.get_by_label("from which readings").fill("12 coupons")
    expect(page.get_by_label("approved by")).not_to_be_editable()
    page.get_by_role("button", name="Approve these factors").click()
    expect(page.get_by_role("table").get_by_text("12 coupons")).to_be_visible()
    assert "Ann" in bench.say("factors")


def test_a_closed_account_is_out_at_once(page, bench):
    bench.say("people", "add", "Gus", "--role", "plan", input=f"{PASSWORD}\n{PASSWORD}\n")
    sign_in(page, bench, "Gus", path="/cards")
    expect(page.get_by_role("heading", name="Cards")).to_be_visible()
    bench.say("people", "close", "Gus")
    page.goto(f"{bench.url}/cards")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def test_wrong_words_have_to_wait(page, bench):
    page.allowed += ["403", "429"]
    for _ in range(6):
        sign_in(page, bench, "Ann", "never the right one")
    expect(page.get_by_role("alert")).to_contain_text("Too many wrong passwords")


def test_a_form_sent_from_elsewhere_is_refused(page, bench):
    form = {"name": "Ann", "password": PASSWORD, "csrf": "made up"}
    assert page.request.post(f"{bench.url}/login", form=form).status == 403


def test_a_bench_without_accounts_does_not_listen_to_the_network(new_bench, tmp_path):
    made = new_bench(tmp_path)
    command = [sys.executable, "-m", "sagger", "serve", "--host", "0.0.0.0", "--port", str(made.port)]
    done = subprocess.run(command, env=made.env, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    assert "sagger people add" in done.stderr
