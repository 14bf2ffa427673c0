"""One job from upload to traveller, in a real browser."""

import json
import re

from playwright.sync_api import expect

from browsing import choose

TIMEOUT_MS = 60_000


def test_from_upload_to_an_approved_job_and_its_traveller(page, bench, plan, approve):
    number = plan(page)
    page.get_by_role("link", name="Change something").click()
    layer = page.get_by_label("layer", exact=True)
    expect(layer).to_have_value("500 um")
    layer.fill("250 um")
    page.get_by_role("button", name="Plan this beside the other").click()
    page.wait_for_url("**/compare*")
    row = page.get_by_role("row", name=re.compile("^layers"))
    expect(row).to_be_visible(timeout=TIMEOUT_MS)
    before, after = (int(re.sub(r"\D", "", cell)) for cell in row.get_by_role("cell").all_inner_texts()[:2])
    assert after > 1.8 * before
    expect(page.get_by_text("layer: 500 µm → 250 µm")).to_be_visible()

    approve(page, number + 1)
    page.goto(bench.url)
    table = page.get_by_role("table", name="Approved")
    expect(table.get_by_role("row", name=re.compile("block"))).to_be_visible()


# The toolkit lets what is typed and clicked before its socket is up wait, each by itself. Here what was
# typed has just looked in vain when the socket comes up, so that the click would be first.
LATE = """(() => {
  const real = window.setTimeout;
  let first = null, shaken = false, open = false;
  window.setTimeout = (work, ms, ...rest) => {
    if (work.name !== "delayed_emitter") return real(work, ms, ...rest);
    return real(() => {
      if (window.typing) first ??= work;
      work();
      if (work === first && shaken && window.clicked) open = true;
    }, ms);
  };
  Object.defineProperty(window, "did_handshake", {
    get: () => shaken && open, set: (is) => { shaken = is; },
  });
})()"""


def test_a_click_does_not_overtake_what_was_typed_before_the_page_was_connected(page, bench, plan):
    number = plan(page)
    page.add_init_script(LATE)
    page.goto(f"{bench.url}/job/{number}")
    name = page.get_by_label("Approved by")
    name.wait_for()
    page.evaluate("window.typing = true")
    name.fill("A. Person")
    page.get_by_role("button", name="Approve for printing").click()
    page.evaluate("window.clicked = true")
    expect(page.get_by_role("heading", name=re.compile("^Print it"))).to_be_visible()


def test_the_command_line_gives_the_same_numbers(page, bench, plan):
    number = plan(page)
    here = json.loads(page.request.get(f"{bench.url}/api/job/{number}/plan.json").text())
    folder = json.loads(bench.say("show", number, "--json"))["folder"]
    order = f"{folder}/../order.toml"
    bench.say("plan", order, "--into", bench.folder / "there")
    there = json.loads((bench.folder / "there" / "plan.json").read_text())
    assert here == there


def test_a_colder_furnace_is_planned_beside_the_other_and_gives_less_density(page, bench, plan):
    number = plan(page)
    page.goto(f"{bench.url}/job/{number}/programmes")
    last = page.get_by_role("region", name="Furnace").get_by_role("group", name="stretch 4")
    last.get_by_label("target").fill("1250 degC")
    last.get_by_label("target").press("Tab")
    page.get_by_role("button", name="Plan this beside the other").click()
    page.wait_for_url("**/compare*")
    row = page.get_by_role("row", name=re.compile("^relative density")).first
    expect(row).to_be_visible(timeout=TIMEOUT_MS)
    before, after = (
        float(re.sub(r"[^\d.]", "", each)) for each in row.get_by_role("cell").all_inner_texts()[:2]
    )
    assert after < before - 2
    expect(page.get_by_text("furnace programme: of the card → 4 stretches of its own")).to_be_visible()


def test_a_programme_the_furnace_cannot_run_is_refused(page, bench, plan):
    number = plan(page)
    page.goto(f"{bench.url}/job/{number}/programmes")
    furnace = page.get_by_role("region", name="Furnace")
    target = furnace.get_by_role("group", name="stretch 4").get_by_label("target")
    for words, said in (("2000 degC", "stays below the 2000 degC"), ("1360 kg", "is a unit of mass")):
        target.fill(words)
        target.press("Tab")
        page.get_by_role("button", name="Plan this beside the other").click()
        expect(page.get_by_role("alert").filter(has_text=said).first).to_be_visible()


def test_coupons_at_nine_places_keep_their_distance_from_what_is_kept_out(page, bench, bring):
    bring(page, bench.block(), unit="mm")
    page.get_by_label("layer", exact=True).fill("500 um")
    choose(page, "head", "head-400")
    choose(page, "box", "box-160x65x65")
    page.get_by_label("gap", exact=True).fill("1 mm")
    page.get_by_role("button", name="Add coupons").click()
    choose(page, "kind", "cube")
    page.get_by_role("button", name="Add coupons").click()
    expect(page.get_by_role("group", name="coupon 1").get_by_text("cube")).to_be_visible()
    page.get_by_role("button", name="Take out coupon 2").click()
    keep_out = page.get_by_label("keep out")
    keep_out.fill("0 0 30")
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_role("alert").filter(has_text="keep_out").first).to_be_visible()
    expect(keep_out).to_be_focused()
    keep_out.fill("30 10 45 20")
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_url("**/job/*")
    page.get_by_role("link", name="Traveller, PDF").wait_for(timeout=2 * TIMEOUT_MS)
    number = page.url.rpartition("/")[2]
    plan = json.loads(page.request.get(f"{bench.url}/api/job/{number}/plan.json").text())
    assert plan["boxes"][0]["pieces"] == 1 + 9
    assert plan["order"]["choices"]["nesting"]["keep_out_mm"] == [[30.0, 10.0, 45.0, 20.0]]


LOSE_ONE = """() => {
  const send = window.socket.emit.bind(window.socket);
  let lost = false;
  window.socket.emit = (name, message, ...rest) => {
    if (name !== "event" || lost) return send(name, message, ...rest);
    lost = true;
    return window.socket;
  };
}"""


def test_a_name_that_the_socket_lost_is_said_again_with_the_click(page, bench, plan):
    """It stands in the field, so whoever looks at the page takes it as said."""
    number = plan(page)
    page.goto(f"{bench.url}/job/{number}")
    page.wait_for_function("() => window.did_handshake")
    page.evaluate(LOSE_ONE)
    page.get_by_label("Approved by").fill("B. Person")
    page.get_by_role("button", name="Approve for printing").click()
    expect(page.get_by_role("heading", name=re.compile("^Print it"))).to_be_visible()
    expect(page.get_by_text("B. Person").first).to_be_visible()
