"""From an aspect that dimensions and tolerances name to the faces it stands for (ISO 10303-47)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import NamedTuple, TypeVar

from sagger.files import part21
from sagger.files.part21 import Damaged, Entity, Text, Value
from sagger.files.pmi_measures import length_unit_mm
from sagger.goods.drawing import ExactFace, Point

SURFACES = {
    "PLANE": "plane",
    "CYLINDRICAL_SURFACE": "cylinder",
    "CONICAL_SURFACE": "cone",
    "SPHERICAL_SURFACE": "sphere",
    "TOROIDAL_SURFACE": "torus",
}
USAGES = ("GEOMETRIC_ITEM_SPECIFIC_USAGE", "ITEM_IDENTIFIED_REPRESENTATION_USAGE")
SHELLS = ("CLOSED_SHELL", "OPEN_SHELL")
Made = TypeVar("Made")


class Links(NamedTuple):
    """What stands for what."""

    items: dict[int, list[int]]  # aspect -> instances of geometry that it stands for
    parts: dict[int, list[int]]  # aspect -> aspects that make it up
    wholes: dict[int, list[int]]  # aspect -> aspects of which it is a part
    faces: dict[int, int]  # instance of a face -> number of the face


def read_each(make: Callable[[int], Made], numbers: Iterable[int], thing: str, lost: list[str]) -> list[Made]:
    """What `make` gives for each instance; of those that are damaged a sentence goes to `lost`."""
    made = []
    for number in numbers:
        try:
            made.append(make(number))
        except (Damaged, LookupError, TypeError, ValueError) as error:
            why = str(error) if isinstance(error, Damaged) else "parameters are missing"
            lost.append(f"{thing} #{number}: {why}")
    return made


def faces(file: Text, lost: list[str]) -> dict[int, ExactFace]:
    """All faces by instance, in the order in which the shells list them."""
    unit, order = length_unit_mm(file), dict[int, bool]()
    for shell in file.of_type(*SHELLS):
        try:
            entity = file.entity(shell)
        except Damaged as error:
            lost.append(f"shell #{shell}: {error}")
            continue
        closed = "CLOSED_SHELL" in entity
        for face in part21.references(entity.need(*SHELLS)):
            order[face] = closed
    numbers = {face: number for number, face in enumerate(order)}
    made = read_each(
        lambda face: (face, _face(file, file.entity(face), numbers[face], unit, order[face])),
        order,
        "face",
        lost,
    )
    return dict(made)


def links(file: Text, numbers: dict[int, int], lost: list[str]) -> Links:
    """All ties between aspects, and from aspects to geometry."""
    items: dict[int, list[int]] = defaultdict(list)
    parts: dict[int, list[int]] = defaultdict(list)
    wholes: dict[int, list[int]] = defaultdict(list)

    def use(number: int) -> None:
        values = file.entity(number).need(*USAGES)
        items[part21.reference(values[2])] += part21.references(values[4])

    def relate(number: int) -> None:
        whole, part = related(file.entity(number))
        parts[whole].append(part)
        wholes[part].append(whole)

    read_each(use, file.of_type(*USAGES), "tie to faces", lost)
    read_each(relate, file.of_type(*_relations(file)), "relation of aspects", lost)
    return Links(items, parts, wholes, numbers)


def related(entity: Entity) -> tuple[int, int]:
    """The two aspects that a relation names."""
    values = entity.one_of("SHAPE_ASPECT_RELATIONSHIP") or next(iter(entity.values()))
    return part21.reference(values[2]), part21.reference(values[3])


def tied(file: Text, known: Links, aspect: Value) -> tuple[int, ...]:
    """Numbers of the faces that an aspect stands for, down through its parts."""
    start = part21.reference(aspect)
    numbers: dict[int, None] = {}
    seen, open_ends = {int(start)}, [int(start)]
    while open_ends:
        now = open_ends.pop(0)
        for item in known.items.get(now, ()):
            if item in known.faces:
                numbers[known.faces[item]] = None
        for part in known.parts.get(now, ()):
            if part not in seen and "DATUM" not in file.entity(part):
                seen.add(part)
                open_ends.append(part)
    return tuple(numbers)


def _relations(file: Text) -> list[str]:
    """Names of the types that tie one aspect to another."""
    named = [
        name for name in file.types() if name.startswith("SHAPE_ASPECT_") and name.endswith("RELATIONSHIP")
    ]
    return [*named, "SHAPE_ASPECT_ASSOCIATIVITY", "FEATURE_FOR_DATUM_TARGET_RELATIONSHIP"]


def _face(file: Text, entity: Entity, number: int, unit: float, solid: bool) -> ExactFace:
    values = entity.need("ADVANCED_FACE", "FACE_SURFACE")
    kind, values_of = next(iter(file.at(values[2]).items()))
    at, along, radius = (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.0
    if kind in SURFACES:
        at, along = _placed(file, file.at(values_of[1]), unit)
        radius = 0.0 if kind == "PLANE" else part21.number(values_of[2]) * unit
    return ExactFace(
        number=number,
        kind=SURFACES.get(kind, "other"),
        at_mm=at,
        along=along,
        radius_mm=radius,
        outward=values[3] == "T",
        solid=solid,
    )


def _placed(file: Text, entity: Entity, unit: float) -> tuple[Point, Point]:
    values = entity.need("AXIS2_PLACEMENT_3D")
    at = [part21.number(x) * unit for x in part21.flat(file.at(values[1]).need("CARTESIAN_POINT")[1])]
    along = [0.0, 0.0, 1.0]
    if values[2] is not None:
        along = [part21.number(x) for x in part21.flat(file.at(values[2]).need("DIRECTION")[1])]
    return (at[0], at[1], at[2]), (along[0], along[1], along[2])
