"""Addresses of pictures: what a browser may keep, and what is said where there is nothing."""

import pytest

from aside import done
from sagger.desk import painter
from sagger.errors import LedgerError
from sagger.web import looks

KEY = "0" * 32


@pytest.fixture
def asked(monkeypatch):
    """What the painter is asked for; it answers with four bytes, or not at all."""
    calls = []

    async def ask(crew, what, *given):
        calls.append((crew, what, *given))
        if KEY not in given:
            raise LedgerError("this is no key of the ledger")
        return b"made"

    monkeypatch.setattr(painter, "ask", ask)
    return calls


@pytest.mark.parametrize(
    ("answer", "kind", "call"),
    [
        (lambda: looks.places(KEY), "application/octet-stream", ("shapes", "box_places", KEY)),
        (lambda: looks.box_forms(KEY, 150), "application/octet-stream", ("shapes", "box_forms", KEY, 150)),
        (lambda: looks.box_form(KEY, 2), "application/octet-stream", ("shapes", "box_form", KEY, 2)),
        (lambda: looks.part_form(KEY, 0), "application/octet-stream", ("shapes", "part_form", KEY, 0)),
        (
            lambda: looks.cut(KEY, 121, 3, 4, 5),
            "application/octet-stream",
            ("layers", "layer_tile", KEY, 120, 3, 4, 5),
        ),
    ],
)
def test_what_an_address_with_a_key_gives_is_kept_for_good(asked, answer, kind, call):
    given = done(answer())
    assert asked == [call]  # layers are counted from 1 in addresses, from 0 below
    assert (given.body, given.media_type) == (b"made", kind)
    assert given.headers["cache-control"] == "private, max-age=31536000, immutable"


def test_what_is_known_of_pieces_is_not_kept_for_the_map_may_change(asked):
    assert "cache-control" not in done(looks.pieces(KEY)).headers


def test_where_there_is_nothing_a_sentence_says_so(asked):
    given = done(looks.places("../../etc/passwd"))
    assert (given.status_code, given.body) == (404, b"this is no key of the ledger\n")
