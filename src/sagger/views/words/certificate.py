"""What was measured on the pieces of a job, as a certificate to send with them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sagger.goods.good import good
from sagger.goods.judged import Compared, JudgedLines, MeasuredLine
from sagger.goods.planned import WholePlan
from sagger.goods.planned_part import PlanPart
from sagger.goods.reading import UNITS, Instrument, Reading
from sagger.statistics import chance, tolerance
from sagger.units import into
from sagger.views.wording import count, digits, moment
from sagger.views.words import addressed, dimensions, odds
from sagger.views.words.letter import Letter, LetterSection

DIMENSIONS = "Dimensions of the drawing"
AskedNumbers = tuple[str, str, tuple[str, ...]]  # part, number of a line, numbers of its features and of it
UNDECIDED = "undecided"  # as `sagger judge` says it
EXPANDED = 2.0  # coverage factor at about 95 % (JCGM 100, 6.3.3)
PLACES = 4  # after the point
PROPERTIES = ("density", "strength", "hardness", "mass")


@good
class Measured:
    """All that a certificate stands on: the plan, and what the book holds of the pieces made by it."""

    job: int
    plan: WholePlan
    digest: str  # of the plan
    made: str  # ISO date of the certificate
    pieces: int  # booked as printed by this plan, coupons left out
    readings: tuple[Reading, ...]  # in force, of those pieces and of coupons that ran with them
    compared: tuple[Compared, ...]  # finished lengths against the tolerances of the order
    drawn: JudgedLines  # lines of the drawings against their limits
    asked: tuple[AskedNumbers, ...]  # by the drawings
    left_out: tuple[str, ...]  # lengths that could not be compared, and why
    instruments: tuple[Instrument, ...]  # that were used


def letter(facts: Measured) -> Letter:
    """The certificate: where pieces come from, sizes against limits, properties; and what it does not say."""
    plan = facts.plan
    read = [_sizes(facts), _dimensions(facts), _properties(facts)]
    tables = [_origin(facts), _parts(facts), *read, _instruments(facts)]
    return Letter(
        title="Certificate of measurement",
        number=f"{facts.job}-{facts.digest[:8]}",
        sender=plan.order.shop,
        receiver=plan.order.customer,
        facts=(*addressed.reference(plan), ("date", facts.made)),
        sections=(*(table for table in tables if table.rows or table.lines), _not_certified(facts)),
        signed=("place and date", "measured by", "released by"),
        foot=f"Order {plan.order.name}, job {facts.job}, plan {facts.digest[:12]}.",
    )


def _origin(facts: Measured) -> LetterSection:
    """Boxes, powder lots and furnace runs of what was measured."""
    rows = {
        (reading.box, reading.lot or "not said", reading.load or "not said", reading.furnace)
        for reading in facts.readings
    }
    cards = {card.kind: card.title or card.name for card in facts.plan.cards}
    return LetterSection(
        heading="Material and run",
        head=("box", "powder lot", "furnace run", "furnace"),
        rows=tuple(sorted(rows)),
        lines=(f"Powder: {cards.get('powder', '')}.", f"Binder: {cards.get('binder', '')}."),
    )


def _parts(facts: Measured) -> LetterSection:
    """Each part with its drawing, how many of its pieces were measured, and what came out."""
    return LetterSection(
        heading="Parts",
        head=(
            "part",
            "drawing",
            "revision",
            "asked",
            "measured",
            "all read conform",
            "undecided",
            "outside",
        ),
        rows=tuple(_part_row(part, facts) for part in facts.plan.parts),
        numbers=(3, 4, 5, 6, 7),
    )


def _part_row(part: PlanPart, facts: Measured) -> tuple[str, ...]:
    mine = {(row.box, row.piece) for row in facts.readings if row.part == part.name and not row.coupon}
    verdicts: dict[tuple[str, str], set[str]] = {}
    read = [(size.box, size.piece, size.said) for size in facts.compared]
    read += [(line.box, line.piece, line.said) for line in facts.drawn.compared]
    for box, piece, verdict in read:
        if (box, piece) in mine:
            verdicts.setdefault((box, piece), set()).add(verdict)
    outside = sum("does not conform" in words for words in verdicts.values())
    undecided = sum(UNDECIDED in words and "does not conform" not in words for words in verdicts.values())
    good_ones = sum(words == {"conforms"} for words in verdicts.values())
    numbers = (part.quantity, len(mine), good_ones, undecided, outside)
    return (part.name, part.drawing_number, part.revision, *(str(number) for number in numbers))


def _sizes(facts: Measured) -> LetterSection:
    """Every finished length against its limits."""
    names = {reading.number: reading.part or reading.piece for reading in facts.readings}
    rows = tuple(
        (
            names.get(size.reading, ""),
            f"{size.box} {size.piece}",
            " ".join(filter(None, (size.axis, size.feature))) or "length",
            f"{size.nominal_mm - size.half_mm:.3f} to {size.nominal_mm + size.half_mm:.3f}",
            f"{size.nominal_mm + size.deviation_mm:.3f}",
            f"± {digits(EXPANDED * size.u_mm, 2)}",
            size.said if size.said != UNDECIDED else f"{size.said}, inside with {odds.percent(size.inside)}",
        )
        for size in facts.compared
    )
    rule = (
        f"U is {EXPANDED:g} standard uncertainties (about 95 %). A size conforms only where it lies inside "
        f"its limits by {tolerance.GUARD:g} of them or more (rule of ISO 14253-1); outside by more than that "
        "it does not conform; in between nothing is decided, and the chance that it lies inside is told, as "
        "far as the reading says."
    )
    sand = (
        "Lengths are those of the piece as printed; its limits lie about the size asked for, enlarged by the "
        f"contraction of the casting ({100 * (float(facts.plan.factors.k[0]) - 1):.2f} % along x)."
    )
    rules = (rule,) if facts.plan.sinter else (rule, sand)
    head = ("part", "box and piece", "size", "limits, mm", "measured, mm", "U, mm", "result")
    return LetterSection("Sizes", head, rows, numbers=(3, 4, 5), lines=rules if rows else ())


def _dimensions(facts: Measured) -> LetterSection:
    """Every line of the drawing that was read, by number, with its least, mean and greatest value."""
    rule = (
        f"Numbers are those of the drawing's inspection table. U is the largest of {EXPANDED:g} standard "
        f"uncertainties; each reading is judged by the rule of ISO 14253-1 with {tolerance.GUARD:g} of them. "
        "The width of a zone has an upper limit alone; where a material requirement gives more room than its "
        "width, that room is not counted, and beyond the width nothing is decided."
    )
    head = ("no. and what", "nominal", "limits", "pieces", "least", "mean", "greatest", "U", "result")
    doubts: dict[tuple[str, str], float] = {}
    for row in facts.drawn.compared:
        key = (row.part, row.number)
        doubts[key] = max(doubts.get(key, 0.0), row.u)
    several = len({line.part for line in facts.drawn.lines}) > 1
    rows = tuple(
        (
            f"{line.part}, {line.number} {line.what}" if several else f"{line.number} {line.what}",
            *_dimension_row(line, doubts[line.part, line.number]),
        )
        for line in facts.drawn.lines
    )
    return LetterSection(DIMENSIONS, head, rows, numbers=(1, 3, 4, 5, 6, 7), lines=(rule,) if rows else ())


def _dimension_row(line: MeasuredLine, u: float) -> tuple[str, ...]:
    spread = (f"{value:.{PLACES}f}" for value in (line.least, line.mean, line.greatest))
    return (
        dimensions.nominal(line),
        dimensions.limits(line),
        str(line.pieces),
        *spread,
        f"± {digits(EXPANDED * u, 2)}",
        _result(line),
    )


def _result(line: MeasuredLine) -> str:
    if line.conform == line.readings:
        return "all conform" if line.readings > 1 else "conforms"
    rest = [(line.outside, "outside"), (line.undecided, UNDECIDED)]
    return ", ".join(f"{number} of {line.readings} {word}" for number, word in rest if number)


def _properties(facts: Measured) -> LetterSection:
    """Density and whatever else was read, with its uncertainty; density also as a share of the solid's."""
    rows = tuple(_property_row(each, facts.plan) for each in facts.readings if each.kind in PROPERTIES)
    head = ("part", "box and piece", "property", "measured", "U", "relative density")
    return LetterSection("Density and other properties", head, rows, numbers=(3, 4, 5))


def _property_row(reading: Reading, plan: WholePlan) -> tuple[str, ...]:
    unit, doubt = UNITS.get(reading.kind, reading.unit), chance.combined((reading.u, reading.u_shared))
    scale = into(1.0, unit) if reading.kind in UNITS else 1.0
    value, solid = reading.value * scale, plan.bed.solid_density_g_per_cm3
    relative = f"{100 * value / solid:.2f} %" if reading.kind == "density" and solid else ""
    return (
        f"{reading.part or reading.piece}{', coupon' if reading.coupon else ''}",
        f"{reading.box} {reading.piece}",
        ", ".join(filter(None, (reading.kind, reading.feature))),
        f"{digits(value, 4)} {unit}",
        f"± {digits(EXPANDED * doubt * scale, 2)} {unit}",
        relative,
    )


def _instruments(facts: Measured) -> LetterSection:
    rows = tuple((each.name, each.kind, moment(each.calibrated) or "not said") for each in facts.instruments)
    return LetterSection("Measured with", ("instrument", "for", "calibrated"), rows)


def _not_certified(facts: Measured) -> LetterSection:
    """What the tables do not say, in so many words."""
    return LetterSection("What this does not certify", lines=tuple(_silent(facts)))


def _silent(facts: Measured) -> Iterator[str]:
    measured = {(reading.box, reading.piece) for reading in facts.readings if not reading.coupon}
    rest = facts.pieces - len(measured)
    if rest > 0:
        yield f"{count(rest, 'piece')} of {facts.pieces} that were printed for this order were not measured."
    if unread := _unread(facts):
        yield f"Lines of the drawing of which nothing was read: {unread}."
    yield "Sizes, positions, form and surface that stand in no table above were not measured."
    if not any(reading.kind == "density" for reading in facts.readings):
        yield "Density was not measured."
    if not any(reading.kind in ("strength", "hardness") for reading in facts.readings):
        yield "Strength and hardness were not measured; composition is that of the powder's own papers."
    if left := (*facts.left_out, *facts.drawn.left_out):
        yield _listed(left)
    yield "It states readings of the shop; whether it serves as a certificate of a standard is agreed apart."


def _unread(facts: Measured) -> str:
    """Numbers of the lines, by part where there are several."""
    read = {(line.part, line.number) for line in facts.drawn.lines}
    left: dict[str, list[str]] = {}
    for part, line, numbers in facts.asked:
        if not any((part, number) in read for number in numbers):
            left.setdefault(part, []).append(line)
    named = len({part for part, _, _ in facts.asked}) > 1
    return "; ".join(f"{part} {', '.join(n)}" if named else ", ".join(n) for part, n in left.items())


def _listed(left_out: Sequence[str]) -> str:
    more = f" and {len(left_out) - 3} more" if len(left_out) > 3 else ""
    return f"Not compared: {'; '.join(left_out[:3])}{more}."
