"""The pages of the bench, one file each; every page has an address of its own."""

from sagger.web.pages import (
    cards,
    cell,
    change_order,
    charts,
    compare,
    factors,
    job,
    new_order,
    orders,
    people,
    pictures,
    price,
    programmes,
    readings,
)

ALL = (
    orders,
    new_order,
    job,
    change_order,
    compare,
    pictures,
    price,
    programmes,
    cell,
    cards,
    readings,
    charts,
    factors,
    people,
)


def register_all() -> None:
    """Give every page its address."""
    for module in ALL:
        module.register()
