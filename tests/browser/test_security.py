"""What is kept out: hostile files, other sites, strangers, and those who may only look."""

import http.client
import zipfile

import pytest
from playwright.sync_api import expect

PASSWORD = "a long enough word"


def ask(bench, method, path, headers=None, body=None):
    """Status, headers and body of one request, sent as it is told."""
    line = http.client.HTTPConnection("127.0.0.1", bench.port, timeout=20)
    line.request(method, path, body, headers or {})
    answer = line.getresponse()
    text = answer.read().decode("utf-8", "replace")
    line.close()
    return answer.status, dict(answer.getheaders()), text


@pytest.fixture
def draft(page, bench):
    page.goto(f"{bench.url}/new")
    page.wait_for_url("**/new/*")
    return page.url.rpartition("/")[2]


def bomb(path):
    """A 3MF file whose model unpacks to far more than it is."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as box:
        box.writestr("[Content_Types].xml", "<Types/>")
        box.writestr("3D/3dmodel.model", b"<model>" + b" " * (1 << 30))
    return path


def test_a_bomb_is_refused_with_a_sentence_and_the_bench_goes_on(page, bench, bring):
    bring(page, bomb(bench.folder / "bomb.3mf"), bench.block())
    expect(page.get_by_role("alert").filter(has_text="bomb.3mf")).to_be_visible(timeout=90_000)
    expect(page.get_by_role("button", name="Plan it")).to_be_visible()


def test_a_file_that_is_no_part_is_refused(page, bench, bring):
    path = bench.folder / "holiday.stl"
    path.write_bytes(b"these are not triangles")
    bring(page, path)
    expect(page.get_by_role("alert").filter(has_text="holiday.stl")).to_be_visible(timeout=60_000)
    expect(page.get_by_role("button", name="Plan it")).not_to_be_visible()


def test_a_wrong_value_is_refused_at_its_field(page, bench, bring):
    bring(page, bench.block(), unit="mm")
    page.get_by_label("layer", exact=True).fill("50 kg")
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_role("alert").filter(has_text="is a unit of mass").first).to_be_visible()
    expect(page.get_by_label("layer", exact=True)).to_be_focused()


NAMES = ["..%2f..%2fx.stl", "%2fetc%2fx.stl", "..%5cx.stl", "x.stl%00.exe", ".stl"]


@pytest.mark.parametrize("name", NAMES)
def test_no_name_leads_out_of_the_draft(bench, draft, name):
    before = set(bench.folder.rglob("*.stl"))
    status, _, _ = ask(bench, "POST", f"/api/uploads/{draft}/{name}", {"X-Sagger": "1"}, b"solid")
    assert status in (200, 404, 422)
    came = set(bench.folder.rglob("*.stl")) - before
    assert {path.parent.parent for path in came} <= {bench.home / "uploads"}


def test_a_file_that_is_too_large_is_cut_off(bench, draft):
    path = f"/api/uploads/{draft}/large.stl"
    assert ask(bench, "POST", path, {"X-Sagger": "1", "Content-Length": str(1 << 40)})[0] == 413
    assert ask(bench, "POST", "/login", {"Content-Length": str(1 << 30)})[0] == 413
    assert not (bench.home / "uploads" / draft / "large.stl").exists()


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example", "X-Sagger": "1"},
        {"Sec-Fetch-Site": "cross-site", "X-Sagger": "1"},
        {"Host": "elsewhere.example", "X-Sagger": "1"},
        {},
    ],
)
def test_another_site_cannot_bring_files(bench, draft, headers):
    status, _, _ = ask(bench, "POST", f"/api/uploads/{draft}/x.stl", headers, b"solid")
    assert status in (403, 421)
    assert not (bench.home / "uploads" / draft / "x.stl").exists()


def test_another_site_gets_no_socket_and_no_numbers(bench):
    upgrade = {"Upgrade": "websocket", "Connection": "Upgrade", "Sec-WebSocket-Version": "13"}
    upgrade |= {"Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==", "Origin": "http://elsewhere.example"}
    assert ask(bench, "GET", "/_nicegui_ws/socket.io/?EIO=4&transport=websocket", upgrade)[0] == 403
    assert ask(bench, "GET", "/api/job/1", {"Sec-Fetch-Site": "cross-site"})[0] == 403


def test_every_answer_says_what_a_page_may_load(bench):
    for path in ("/", "/login", "/api/job/999", "/bench/bench.css"):
        headers = ask(bench, "GET", path)[1]
        assert "default-src 'self'" in headers["content-security-policy"], path
        assert headers["x-content-type-options"] == "nosniff"


def test_no_script_runs_that_is_not_the_page_s_own(page, bench):
    first, second = (ask(bench, "GET", "/cards")[1]["content-security-policy"] for _ in range(2))
    assert first != second  # a new word for every answer
    scripts = next(part for part in first.split("; ") if part.startswith("script-src"))
    assert "unsafe-inline" not in scripts
    page.allowed.append("Content Security Policy")
    page.goto(f"{bench.url}/cards")
    expect(page.get_by_role("heading", name="Cards")).to_be_visible()
    ran = """async () => {
      const script = document.createElement("script");
      script.textContent = "window.ran = 1";
      document.body.append(script);
      const holder = document.createElement("div");
      holder.innerHTML = '<img src="/bench/none.png" onerror="window.ran = 2">';
      document.body.append(holder);
      await new Promise((done) => setTimeout(done, 500));
      return window.ran ?? 0;
    }"""
    page.allowed.append("404")
    assert page.evaluate(ran) == 0


def test_papers_of_a_job_run_nothing(bench):
    assert ask(bench, "GET", "/files/job/1/traveller.html")[1]["content-security-policy"].endswith("sandbox")


TRAPS = {"order": "<img src=x onerror=alert(1)>", "part": "<script>alert(1)</script>"}


def test_names_of_orders_and_parts_are_text_and_never_tags(page, bench, bring):
    bring(page, bench.block(), unit="mm")
    order = page.get_by_role("textbox", name="name", exact=True)
    order.first.fill(TRAPS["order"])
    order.last.fill(TRAPS["part"])
    page.get_by_label("layer", exact=True).fill("500 um")
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_url("**/job/*")
    page.get_by_role("link", name="Traveller, PDF").wait_for(timeout=90_000)
    expect(page.get_by_role("heading", level=1)).to_contain_text(TRAPS["order"])
    expect(page.get_by_text(f"A {TRAPS['part']}").first).to_be_visible()
    assert page.locator("img[src=x]").count() == 0
