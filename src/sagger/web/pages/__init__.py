"""The pages of the bench, one file each; every page has an address of its own."""

from sagger.web.pages import change, compare, job, new, orders, pictures, programmes


def put_up() -> None:
    """Give every page its address."""
    for each in (orders, new, job, change, compare, pictures, programmes):
        each.put_up()
