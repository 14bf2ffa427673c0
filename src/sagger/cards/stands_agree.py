"""What must agree on the card of a cell: names are known, and no change-over is longer than a way round."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from sagger.goods.shift import WEEKDAYS
from sagger.goods.stand import Stand, machine_names

StandCheck = tuple[bool, str, str, object, str]  # holds, what is wrong if not, field, value, remedy


def stand_checks(card: Stand) -> Iterator[StandCheck]:
    """Every rule of the card, and whether it holds."""
    for field in ("shifts", "printers", "boxes", "ovens", "crews", "programmes"):
        yield bool(getattr(card, field)), "a cell needs at least one", field, "", f"Add [[{field}]]."
    machines = machine_names(card)
    twice = [name for name in machines if machines.count(name) > 1]
    yield not twice, "two machines share a name", "printers", twice[:1], "Names are used once."
    for shift in card.shifts:
        for day in shift.days:
            yield day in WEEKDAYS, "no day is called so", "shifts", day, f"One of: {', '.join(WEEKDAYS)}."
        opens, closes = shift.opens, shift.closes
        yield opens.value < closes.value, "a shift opens before it closes", "shifts", closes.printed, ""
    yield from _known(card)
    yield from _shortest(card)


def _known(card: Stand) -> Iterator[StandCheck]:
    """Programmes, families and boxes that are named are there."""
    boxes, programmes, families = (
        [getattr(each, word) for each in rows]
        for rows, word in ((card.boxes, "box"), (card.programmes, "name"), (card.families, "name"))
    )
    used = [("printers", name, boxes) for printer in card.printers for name in printer.boxes]
    used += [("ovens", name, programmes) for oven in card.ovens for name in oven.programmes]
    used += [("furnaces", name, families) for furnace in card.furnaces for name in furnace.families]
    for field, name, known in used:
        yield name in known, "the card has none of that name", field, name, f"It has: {', '.join(known)}."
    printed = {powder for printer in card.printers for powder in printer.powders}
    cured = {powder for programme in card.programmes for powder in programme.powders}
    missing = sorted(printed - cured)
    yield not missing, "a powder that is printed needs a programme", "programmes", missing[:1], "Add it."
    changed = {name for row in card.changes for name in (row.before, row.after)}
    strange = sorted(changed - printed)
    yield not strange, "no printer prints this powder", "changes", strange[:1], "Leave it out."


def _shortest(card: Stand) -> Iterator[StandCheck]:
    """No change-over takes longer than the way through a third powder: the plan looks at pairs alone."""
    times = {(row.before, row.after): row.length.value for row in card.changes}
    powders = sorted({name for pair in times for name in pair})
    for before, through, after in permutations(powders, 3):
        way = times.get((before, through), 0.0) + times.get((through, after), 0.0)
        what = f"from {before} to {after} takes longer than through {through}"
        holds = times.get((before, after), 0.0) <= way
        yield holds, what, "changes", f"{times.get((before, after), 0.0) / 3600:g} h", "Give the shorter."
