"""An offer says what the plan says, to somebody who has not seen the plan."""

import dataclasses
import datetime
import json
from types import SimpleNamespace

import pypdfium2
import pytest
import trimesh
from starlette.responses import HTMLResponse

from job_goods import a_job
from sagger.desk.home import ledger
from sagger.desk.planning import offers
from sagger.errors import InputError
from sagger.goods.plain import restored
from sagger.goods.planned import WholePlan
from sagger.goods.planned_quote import PiecePrice
from sagger.ledger import bodies, jobs
from sagger.views import plan as plan_view
from sagger.views.words import odds
from sagger.views.words import offer as words
from sagger.web import api


def ordered(**words):
    """Three blocks for a customer with a drawing."""
    job = a_job((trimesh.creation.box((20, 10, 8)),), 3)
    request = dataclasses.replace(job.parts[0].request, drawing_number="D-17", revision="B", due="2027-03-05")
    part = dataclasses.replace(job.parts[0], request=request)
    said = {"customer": "Harrow Valves (invented)", "reference": "PO 12", "valid": "2027-02-28"} | words
    order = dataclasses.replace(job.order, requests=(request,), **said)
    return dataclasses.replace(job, order=order, parts=(part,))


@pytest.fixture
def planned(tmp_path, monkeypatch):
    """Number and plan of a job as the ledger keeps it."""
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)

    def call(**words):
        book = ledger()
        beginning = jobs.Beginning("blocks", "d1", str(tmp_path / "out"), "0", "2027-03-01T08:00")
        number = jobs.begin(book, beginning)
        document = plan_view.document(ordered(**words), (), (), {}, "0")
        jobs.end(book, number, "done", plan_digest=bodies.put(book, json.dumps(document)))
        return number, document

    return call


def section(letter, heading):
    return next(table for table in letter.sections if table.heading == heading)


def test_pieces_prices_and_their_sum_are_those_of_the_plan(planned):
    number, plan = planned()
    rows = section(offers.offer(number), "What is offered").rows
    price = plan["quote"]["prices"][0]["price_per_piece"]
    assert rows[0][:2] == ("part-0", "D-17 rev. B")
    assert rows[0][4:] == ("3", f"{price:.2f}", f"{3 * price:.2f}")
    assert (
        rows[-1][-1] == f"{3 * price:.2f}"
        and plan["quote"]["currency"] in section(offers.offer(number), "What is offered").head[-1]
    )


def test_a_sum_is_that_of_the_price_as_printed():
    """The customer multiplies what is printed, not what stands behind it."""
    price = PiecePrice(part=0, good_pieces=3, price_per_piece=69.0349)
    part = SimpleNamespace(quantity=4)
    assert words.price_of(price, part) == pytest.approx(4 * 69.03, abs=1e-9)


def test_what_no_number_of_pieces_gives_is_not_offered(planned):
    _, plan = planned()
    letter = words.letter(_as_offered(plan, least=None))
    rows = section(letter, "What was asked for").rows
    assert rows[0][4:] == ("3", "not offered", "not offered") and rows[-1][-1] == "not offered"
    (why,) = section(letter, "What is not offered, and why").lines
    assert "measure 5 coupons first; then 96 % of pieces would meet them" in why
    headings = {section.heading for section in letter.sections}
    assert "valid until" not in dict(letter.facts)
    assert letter.title == "Answer to an inquiry" and not headings & {"Delivery", "What is promised"}
    assert not any("accepted" in signature for signature in letter.signed)
    assert words.short(_as_offered(plan, least=None).plan)[0].startswith("not offered: part-0")


def test_other_quantities_and_a_second_start_are_told(planned):
    _, plan = planned()
    plan["quote"] |= {"second_ready": "2027-03-09T08:00", "sure_ready": "2027-03-09T08:00"}
    plan["quote"]["quantities"] = [{"times": 2.0, "total": 100.0, "per_good": 12.5}]
    letter = words.letter(_as_offered(plan, least=4))
    assert "At other quantities: 6 pieces, about 12.50 EUR a piece" in " ".join(
        section(letter, "What is offered").lines
    )
    told = " ".join(section(letter, "Delivery").lines)
    assert "in 81 % after a second start for those missing" in told
    assert "Ready by 2027-03-09 08:00 in 95 of 100 orders like this one" in told
    plan["quote"]["sure_ready"] = ""
    letter = words.letter(_as_offered(plan, least=4))
    assert "No date holds in 95 of 100 orders, even with a second start." in section(letter, "Delivery").lines


def test_bad_pieces_that_pass_and_the_date_of_each_part_are_told(planned):
    _, plan = planned()
    plan["promise"]["pieces"][0]["slipped_percent"] = 0.4
    plan["quote"] |= {"ready": "2027-03-06T08:00", "sure_ready": "2027-03-09T08:00"}
    plan["quote"]["prices"][0]["ready"] = "2027-03-04T10:00"
    letter = words.letter(_as_offered(plan, least=4))
    whole = section(letter, "What is promised").lines[-1]
    assert whole.endswith(
        "0.4 % of those that pass the bench are outside all the same, as readings are unsure."
    )
    delivery = section(letter, "Delivery").lines
    assert delivery[-1] == (
        "part-0: ready 2027-03-04 10:00, asked for by 2027-03-05: "
        "in time by planned hours, but not in 95 of 100 orders."
    )


def test_without_drawing_numbers_there_is_no_column_for_them(planned):
    _, plan = planned()
    plan["parts"][0]["drawing_number"] = ""
    assert "drawing" not in section(words.letter(_as_offered(plan, least=4)), "What is offered").head


def _as_offered(document, least):
    plan = restored(WholePlan, json.loads(json.dumps(document)))
    pieces = tuple(dataclasses.replace(piece, least=least) for piece in plan.promise.pieces)
    plan = dataclasses.replace(plan, promise=dataclasses.replace(plan.promise, pieces=pieces))
    return words.Offered(job=1, plan=plan, digest="0" * 32, made="2027-02-01", valid="2027-02-28")


def test_sizes_and_dates_are_those_of_the_plan(planned):
    number, plan = planned()
    letter = offers.offer(number)
    promised = [promise for promise in plan["quote"]["promises"] if promise["part"] == 0]
    rows = section(letter, "What is promised").rows
    assert [row[0] for row in rows] == [f"part-0, {promise['dimension']}" for promise in promised]
    assert [row[2] for row in rows] == [f"{promise['lower_mm']:.2f}" for promise in promised]
    delivery = " ".join(section(letter, "Delivery").lines)
    assert plan["quote"]["ready"].replace("T", " ")[:16] in delivery and "asked for by 2027-03-05" in delivery


def test_the_chance_of_enough_good_pieces_is_that_of_the_plan(planned):
    number, plan = planned()
    letter, (piece,) = offers.offer(number), plan["promise"]["pieces"]
    whole = section(letter, "What is promised").lines[-1]
    assert whole.startswith("part-0, all of these sizes at once: met by ")
    assert odds.percent(piece["chance_percent"] / 100) in whole and f"{piece['started']} started" in whole
    kept = odds.percent(plan["promise"]["kept_percent"] / 100)
    assert f"as many good pieces as asked in {kept} of orders" in " ".join(section(letter, "Delivery").lines)
    missing = [
        line for line in section(letter, "What is not promised").lines if "the first start holds" in line
    ]
    assert bool(missing) == (piece["enough_percent"] < piece["sure_percent"])


def test_who_it_is_for_and_how_long_it_holds(planned):
    letter = offers.offer(planned()[0])
    facts = dict(letter.facts)
    assert letter.receiver == "Harrow Valves (invented)" and letter.sender == "an invented shop"
    assert (facts["your reference"], facts["valid until"]) == ("PO 12", "2027-02-28")
    assert facts["date"] == datetime.date.today().isoformat()


def test_what_an_hour_costs_is_nobody_s_business(planned):
    number, plan = planned()
    page, pdf = offers.sheet(number)
    text = " ".join(sheet.get_textpage().get_text_range() for sheet in pypdfium2.PdfDocument(pdf))
    for line in plan["quote"]["lines"]:
        assert line["basis"] not in page and line["basis"] not in text
    for said in ("Offer", "Harrow Valves", "PO 12", "D-17", "What is not promised", "flatness"):
        assert said in page and said in " ".join(text.split())


def test_a_job_without_a_plan_cannot_be_offered(planned, tmp_path):
    number, _ = planned()
    book = ledger()
    lone = jobs.begin(book, jobs.Beginning("none", "d2", str(tmp_path / "no"), "0", ""))
    assert offers.can(number) and not offers.can(lone)
    with pytest.raises(InputError, match="no plan"):
        offers.offer(lone)


def test_the_bench_gives_the_paper_as_page_and_as_pdf(planned):
    number, _ = planned()
    page, pdf = api.job_file(number, "offer.html"), api.job_file(number, "offer.pdf")
    assert isinstance(page, HTMLResponse) and b"Harrow Valves" in page.body
    assert pdf.body.startswith(b"%PDF") and "offer-job" in pdf.headers["content-disposition"]
    assert api.job_file(number, "certificate.pdf").status_code == 404  # nothing was measured
    assert api.job_file(number, "secret.pdf").status_code == 404


@pytest.mark.parametrize(("least", "first"), [(4, ", valid until 2027-02-28"), (None, " for job 1")])
def test_the_command_says_what_it_left(planned, tmp_path, monkeypatch, least, first):
    number, plan = planned()
    monkeypatch.setattr(offers, "offer", lambda _: words.letter(_as_offered(plan, least)))
    document, lines = offers.written(str(number), tmp_path / "papers")
    assert lines[0].endswith(first) and lines[-1].endswith("offer.pdf")
    assert (tmp_path / "papers" / "offer.pdf").read_bytes().startswith(b"%PDF")
    assert document["title"] == ("Offer" if least else "Answer to an inquiry")
