"""A shop whose cell has the example orders in its book, and a plan of them; for tests of its faces."""

from pathlib import Path

from sagger.desk.planning import cell
from sagger.ledger.lots import Mover

ORDERS = Path(__file__).parents[1] / "examples" / "cell-orders.csv"
NOW = "2030-01-07T07:00"
STEP = Mover(person="A. Planner")
RUSH = (
    "order,powder,box,print_h,hands_h,shelves,due\n"
    "sample ring,steel-316l,box-160x65x65,7,1,1,2030-01-11T15:00\n"
)


def booked():
    cell.book_table(ORDERS, STEP)


def planned():
    booked()
    return cell.plan(NOW, cell.FIRST, STEP)
