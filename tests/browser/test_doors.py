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
    status, _, _ = ask(bench, "POST", f"/api/inbox/{draft}/{name}", {"X-Sagger": "1"}, b"solid")
    assert status in (200, 404, 422)
    came = set(bench.folder.rglob("*.stl")) - before
    assert {path.parent.parent for path in came} <= {bench.home / "inbox"}


def test_a_file_that_is_too_large_is_cut_off(bench, draft):
    path = f"/api/inbox/{draft}/large.stl"
    assert ask(bench, "POST", path, {"X-Sagger": "1", "Content-Length": str(1 << 40)})[0] == 413
    assert ask(bench, "POST", "/enter", {"Content-Length": str(1 << 30)})[0] == 413
    assert not (bench.home / "inbox" / draft / "large.stl").exists()


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
    status, _, _ = ask(bench, "POST", f"/api/inbox/{draft}/x.stl", headers, b"solid")
    assert status in (403, 421)
    assert not (bench.home / "inbox" / draft / "x.stl").exists()


def test_another_site_gets_no_socket_and_no_numbers(bench):
    upgrade = {"Upgrade": "websocket", "Connection": "Upgrade", "Sec-WebSocket-Version": "13"}
    upgrade |= {"Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==", "Origin": "http://elsewhere.example"}
    assert ask(bench, "GET", "/_nicegui_ws/socket.io/?EIO=4&transport=websocket", upgrade)[0] == 403
    assert ask(bench, "GET", "/api/job/1", {"Sec-Fetch-Site": "cross-site"})[0] == 403


def test_every_answer_says_what_a_page_may_load(bench):
    for path in ("/", "/enter", "/api/job/999", "/bench/bench.css"):
        headers = ask(bench, "GET", path)[1]
        assert "default-src 'self'" in headers["content-security-policy"], path
        assert headers["x-content-type-options"] == "nosniff"
