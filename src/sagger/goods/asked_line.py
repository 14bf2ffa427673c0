"""A line of a part's drawing as readings are held against it."""

from __future__ import annotations

from sagger.goods import balloon
from sagger.goods.balloon import Balloon
from sagger.goods.good import good
from sagger.goods.planned import WholePlan
from sagger.goods.planned_part import PlanPart, PlanSize, PlanZone

LONGEST = 80  # letters of what a reading says of its feature
MATERIAL = ("maximum material requirement", "least material requirement")


@good
class AskedLine:
    """Values are in its unit; limits are None where the drawing gives none."""

    number: int  # its balloon
    name: str  # what the order calls it; "" for lines of a file
    kind: str  # diameter, flatness, …
    unit: str  # "mm" or "deg"
    nominal: float | None  # None for form and place
    lower: float | None
    upper: float | None
    features: int  # faces, bores or pairs of faces that it is of
    eased: bool  # a material requirement gives more room than `upper` says

    @property
    def zone(self) -> bool:
        """Whether it is the width of a zone, which has no lower limit."""
        return self.nominal is None

    @property
    def what(self) -> str:
        """Kind and name."""
        return f"{self.kind} {self.name}".strip()

    def feature(self, number: Balloon) -> str:
        """What a reading of it calls its feature: number, kind and name."""
        return f"{number} {self.what}"[:LONGEST]

    @property
    def numbers(self) -> list[Balloon]:
        """Of its features, after that of the line if there are several."""
        own = balloon.every(self.number, self.features)
        return own if len(own) == 1 else [Balloon(self.number), *own]


def asked_lines(plan: WholePlan, part: PlanPart) -> tuple[AskedLine, ...]:
    """What the drawing of a part asks for, by number; none if the plan holds no drawing of it."""
    if part.drawing is None:
        return ()
    place = next(at for at, one in enumerate(plan.parts) if one is part)
    promised = plan.promise.lines if plan.promise else ()
    features = {line.line: line.features for line in promised if line.part == place}
    return tuple(
        _line(number, line, features.get(number, 1))
        for number, line in balloon.numbered(part.drawing.dimensions, part.drawing.tolerances)
    )


def _line(number: int, line: PlanSize | PlanZone, features: int) -> AskedLine:
    size = line if isinstance(line, PlanSize) else None
    lower, upper = line.limits or (None, None)
    middle = None if lower is None or upper is None else (lower + upper) / 2
    return AskedLine(
        number=number,
        name=line.name,
        kind=line.kind,
        unit=size.unit if size else "mm",
        nominal=None if size is None else middle if size.nominal is None else size.nominal,
        lower=lower,
        upper=upper,
        features=features,
        eased=any(word in MATERIAL for word in line.modifiers) if isinstance(line, PlanZone) else False,
    )
