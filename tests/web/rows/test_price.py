"""The price: its parts, the pieces, and what can be promised."""

import re

from page_text import table, words
from sagger.web.rows import price as rows


def test_parts_of_the_price_come_with_the_largest_first_and_bars_to_scale(plan, altered):
    lines = [{"name": name, "amount": amount, "basis": name} for name, amount in (("a", 25.0), ("b", 100.0))]
    lines.append({"name": "rebate", "amount": -10.0, "basis": "agreed"})
    content = rows.page(altered(lines, "quote", "lines"))
    body = table(content, "Parts of the price")[1:]
    assert [row[:2] for row in body] == [["b", "100.00 ≈"], ["a", "25.00 ≈"], ["rebate", "-10.00 ≈"]]
    assert [float(wide) for wide in re.findall(r'width="([\d.]+)" height', str(content))] == [100, 25, 0]
    assert body[1][3] == "a"
    assert words(content).startswith("Whole order: 100.00 EUR")


def test_nothing_is_drawn_of_a_price_of_nothing():
    assert 'width="0.0"' in str(rows.bar(0.0, 0.0))


def test_pieces_say_how_many_were_asked_and_how_many_are_expected_good(plan, altered):
    price = {"part": 1, "asked": 2, "started": 4, "good_pieces": 3, "expected": 3.4, "price_per_piece": 20.0}
    price |= {"price_low": 17.5, "price_high": None}
    plan = altered(price, "quote", "prices", 1)
    head, *body = table(rows.page(plan), "Price by piece")
    assert head == [
        "Part",
        "asked",
        "started",
        "good ones expected",
        "EUR a good piece",
        "nine of ten orders",
    ]
    assert body[1] == ["part-1", "2", "4", "3.4", "20.00 ≈", "17.50 to no good piece"]


def test_a_promise_tells_limits_chance_and_where_most_doubt_comes_from(plan):
    head, *body = table(rows.page(plan), "What can be promised")
    assert len(body) == len(plan.quote.promises)
    told = dict(zip(head, body[2], strict=True))
    assert told["Size"] == "part-0, z"
    assert (told["nominal, mm"], told["allowed, mm"]) == ("8.00", "7.80 to 8.20")
    assert (told["uncertainty, mm"], told["chance inside"]) == ("± 0.10 ≈", "90.0 % ≈")
    assert told["doubt comes from"] == "factor 70 %, scatter 30 %"


def test_a_whole_piece_says_how_lots_differ_how_many_to_start_and_what_helps(plan):
    head, *body = table(rows.page(plan), "Whole pieces")
    told = dict(zip(head, body[0], strict=True))
    assert told["whole piece"] == "met by 83 % of pieces (lots differ: 31 to 98 %) ≈"
    assert told["as started"] == "2 started hold 2 good ones in 60 % of orders, 1.5 on average"
    assert told["to be sure"] == "start 4 for 2 good in 95 of 100 orders"
    assert told["would raise it"] == "measure 5 coupons first: 96 %"
    assert "as many good pieces as asked in 36 % of orders" in words(rows.page(plan))


def test_a_plan_of_an_earlier_edition_has_no_whole_pieces(altered):
    assert "Whole pieces" not in str(rows.page(altered(None, "promise")))


def test_other_quantities_and_a_second_start_are_told(altered):
    size = {"times": 2.0, "total": 190.4, "per_good": 18.5}
    document = altered([size], "quote", "quantities")
    assert table(rows.page(document), "Other quantities")[1] == ["2 ×", "190 ≈", "18.50"]
    assert "No date holds in 95 of 100 orders, even with a second start" in words(rows.page(document))
