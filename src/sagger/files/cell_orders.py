"""A table of orders for a cell: one line for each build; lines of one order stand for its boxes."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from sagger.errors import OrderError
from sagger.files.measured import table
from sagger.goods.asked import AskedBuild, AskedOrder

WANTED = ("order", "powder", "box", "print_h", "hands_h", "shelves", "due")
OPTIONAL = ("build", "weight", "release")

Line = dict[str, str]


def cell_orders(path: Path) -> tuple[AskedOrder, ...]:
    """Orders of a CSV file with the columns order, powder, box, print_h, hands_h, shelves, due; build, weight
    and release if need be.

    Raises
    ------
    LotError
        If it is no table.
    OrderError
        If a cell is refused, with its line and column.
    """
    columns = table(path, WANTED, OPTIONAL)
    lines = [{name: column[at] for name, column in columns.items()} for at in range(len(columns["line"]))]
    by_order: dict[str, list[Line]] = {}
    for line in lines:
        by_order.setdefault(line["order"], []).append(line)
    return tuple(_order(name, rows, path.name) for name, rows in by_order.items())


def _order(name: str, lines: list[Line], file: str) -> AskedOrder:
    first = lines[0]
    if not name or "/" in name:
        raise _refused("an order needs a name without a slash", first, "order", file)
    release = first.get("release", "")
    return AskedOrder(
        name=name,
        builds=tuple(_build(line, number, file) for number, line in enumerate(lines, 1)),
        due=_moment(first, "due", file),
        weight=int(_number(first, "weight", file, least=1, whole=True)) if first.get("weight") else 1,
        release=_moment(first, "release", file) if release else "",
    )


def _build(line: Line, number: int, file: str) -> AskedBuild:
    return AskedBuild(
        label=line.get("build") or str(number),
        powder=line["powder"],
        box=line["box"],
        print_h=_number(line, "print_h", file, least=0.25),
        hands_h=_number(line, "hands_h", file, least=0.25),
        shelves=int(_number(line, "shelves", file, least=0, whole=True)),
    )


def _number(line: Line, name: str, file: str, least: float, *, whole: bool = False) -> float:
    try:
        value = float(line[name])
    except ValueError:
        value = float("nan")
    if not least <= value < 1e4 or (whole and value != int(value)):
        kind = "a whole number" if whole else "a number"
        raise _refused(f"{kind} of at least {least:g} is needed", line, name, file)
    return value


def _moment(line: Line, name: str, file: str) -> str:
    try:
        at = datetime.fromisoformat(line[name])
    except ValueError:
        raise _refused("an ISO date and time is needed", line, name, file) from None
    return at.replace(tzinfo=None).isoformat(timespec="minutes")


def _refused(what: str, line: Line, name: str, file: str) -> OrderError:
    where = f"line {line['line']}, column {name}"
    return OrderError(what, file=file, field=where, value=line.get(name, ""), remedy="Mend the line.")
