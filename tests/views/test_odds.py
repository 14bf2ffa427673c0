"""Chances in words: never rounded to certainty."""

import pytest

from sagger.views.words import odds


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.827, "83 %"),
        (0.05, "5 %"),
        (0.9949, "99.5 %"),
        (0.9994, "99.9 %"),
        (0.9996, "over 99.9 %"),
        (1.0, "over 99.9 %"),
        (0.004, "0.4 %"),
        (0.0, "under 0.1 %"),
    ],
)
def test_percent(chance, words):
    assert odds.percent(chance) == words


def test_sentences():
    assert odds.met(0.827, 0.31, 0.9999) == "met by 83 % of pieces (lots differ: 31 % to over 99.9 %)"
    assert odds.met(0.827, 0.311, 0.98) == "met by 83 % of pieces (lots differ: 31 to 98 %)"
    assert odds.met(0.9, 0.9, 0.9) == "met by 90 % of pieces"
    assert odds.start(52, 40, 0.95, 1.0) == "start 52 for 40 good in 95 of 100 orders"
    assert odds.start(52, 40, 0.999, 1.0) == "start 52 for 40 good in 999 of 1000 orders"
    never = odds.start(None, 40, 0.95, 0.41)
    assert never == "no number gives 40 good in 95 of 100 orders: 41 % of orders at best"
    surer = odds.cheapest(46, 52, "60.00 EUR")
    assert surer == "cheapest with a second start for what is missing: 46; from there to 52 costs 60.00 EUR"
    assert odds.cheapest(52, 52, "0.00 EUR") == odds.cheapest(None, None, "") == ""


def test_a_second_start_is_told_where_it_changes_what_is_printed():
    once = "every part has as many good pieces as asked in 97 % of orders"
    assert odds.kept(0.97, 0.972) == odds.kept(0.97, None) == once
    assert odds.kept(0.97, 0.999).startswith(f"{once}, in 99.9 % after a second start for those missing")


def test_a_good_piece_has_a_price_where_one_is_expected():
    assert odds.good_price(20.0, "EUR", 1.5) == "20.00 EUR per good piece"
    assert odds.good_price(2.75e9, "EUR", 1e-8) == "hardly one good piece is expected, so none has a price"
