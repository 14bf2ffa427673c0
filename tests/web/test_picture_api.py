"""Addresses of pictures: what a browser may keep, and what is said where there is nothing."""

import pytest

from aside import done
from sagger.desk.pictures import render, workers
from sagger.errors import LedgerError
from sagger.web import picture_api

KEY = "0" * 32


@pytest.fixture
def asked(monkeypatch):
    """What a worker is asked for; it answers with four bytes, or not at all."""
    calls = []

    async def ask(crew, what, *given):
        calls.append((crew, what, *given))
        if KEY not in given:
            raise LedgerError("this is no key of the ledger")
        return b"made"

    monkeypatch.setattr(workers, "ask", ask)
    return calls


@pytest.mark.parametrize(
    ("answer", "kind", "call"),
    [
        (lambda: picture_api.places(KEY), "application/octet-stream", ("shapes", render.box_places, KEY)),
        (
            lambda: picture_api.box_forms(KEY, 150),
            "application/octet-stream",
            ("shapes", render.box_forms, KEY, 150),
        ),
        (
            lambda: picture_api.box_form(KEY, 2),
            "application/octet-stream",
            ("shapes", render.box_form, KEY, 2),
        ),
        (
            lambda: picture_api.part_form(KEY, 0),
            "application/octet-stream",
            ("shapes", render.part_form, KEY, 0),
        ),
        (
            lambda: picture_api.cut(KEY, 121, 3, 4, 5),
            "application/octet-stream",
            ("layers", render.layer_tile, KEY, 120, 3, 4, 5),
        ),
    ],
)
def test_what_an_address_with_a_key_gives_is_kept_for_good(asked, answer, kind, call):
    given = done(answer())
    assert asked == [call]  # layers are counted from 1 in addresses, from 0 below
    assert (given.body, given.media_type) == (b"made", kind)
    assert given.headers["cache-control"] == "private, max-age=31536000, immutable"


def test_what_is_known_of_pieces_is_not_kept_for_the_map_may_change(asked):
    assert "cache-control" not in done(picture_api.pieces(KEY)).headers


def test_where_there_is_nothing_a_sentence_says_so(asked):
    given = done(picture_api.places("../../etc/passwd"))
    assert (given.status_code, given.body) == (404, b"this is no key of the ledger\n")
