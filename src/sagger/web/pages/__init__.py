"""The pages of the bench, one file each; every page has an address of its own."""

from sagger.web.pages import (
    cards,
    change,
    charts,
    compare,
    factors,
    job,
    new,
    orders,
    people,
    pictures,
    price,
    programmes,
    readings,
)

ALL = (
    orders,
    new,
    job,
    change,
    compare,
    pictures,
    price,
    programmes,
    cards,
    readings,
    charts,
    factors,
    people,
)


def put_up() -> None:
    """Give every page its address."""
    for each in ALL:
        each.put_up()
