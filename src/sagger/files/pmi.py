"""Dimensions and tolerances that a STEP file carries on its faces (ISO 10303-242, semantic PMI).

What is read is text; no geometry kernel takes part. Lengths come out in mm and angles in degrees, each
measure by its own unit. A dimension or tolerance that is damaged is left out and told; the others are kept.
For the meaning of symbols and zones defer to ISO 1101, ISO 5459, ISO 14405-1 and ISO 10303-242 in the
edition in force.
"""

from __future__ import annotations

from collections.abc import Iterator

from sagger.files import part21
from sagger.files.part21 import Damaged, Entity, Text
from sagger.files.pmi_links import Links, faces, links, read_each, tied
from sagger.files.pmi_measures import measure, needed
from sagger.goods.drawing import Datum, Dimension, Drawing, ExactFace, GeometricTolerance

TOLERANCES = (
    "ANGULARITY", "CIRCULAR_RUNOUT", "COAXIALITY", "CONCENTRICITY", "CYLINDRICITY", "FLATNESS",
    "LINE_PROFILE", "PARALLELISM", "PERPENDICULARITY", "POSITION", "ROUNDNESS", "STRAIGHTNESS",
    "SURFACE_PROFILE", "SYMMETRY", "TOTAL_RUNOUT",
)  # fmt: skip
BARE = "GEOMETRIC_TOLERANCE"
ZONES = {"cylindrical or circular": "round", "spherical": "sphere"}
KINDS = {
    "curve length": "length along a curve",
    "linear distance": "distance",
    "linear distance inner": "distance",
    "linear distance outer": "distance",
    "linear distance centre outer": "distance",
    "linear distance centre inner": "distance",
    "spherical diameter": "sphere diameter",
    "spherical radius": "sphere radius",
}
COMPARTMENTS = ("DATUM_REFERENCE_COMPARTMENT", "DATUM_REFERENCE_ELEMENT", "GENERAL_DATUM_REFERENCE")
TARGETS = ("PLACED_DATUM_TARGET_FEATURE", "DATUM_TARGET")
REPRESENTED = "DIMENSIONAL_CHARACTERISTIC_REPRESENTATION"
DEEPEST = 4  # compartments of a datum system within compartments


def read(text: str) -> Drawing:
    """What the text of a STEP file says of faces, dimensions, tolerances and datums."""
    return drawn(Text(text))[0]


def drawn(file: Text) -> tuple[Drawing, dict[int, ExactFace]]:
    """The same of a text taken apart, and its faces by instance."""
    lost = list[str]()
    by_instance = faces(file, lost)
    known = links(file, {instance: face.number for instance, face in by_instance.items()}, lost)
    limits = dict(
        read_each(lambda n: _limited(file.entity(n)), file.of_type("PLUS_MINUS_TOLERANCE"), "limits", lost)
    )
    zones = dict(_zones(file, lost))
    sizes = read_each(
        lambda n: _dimension(file, known, n, limits), file.of_type(REPRESENTED), "dimension", lost
    )
    asked = read_each(lambda n: _tolerance(file, known, n, zones), _toleranced(file), "tolerance", lost)
    datums = read_each(lambda n: _datum(file, known, n), file.of_type("DATUM", "COMMON_DATUM"), "datum", lost)
    drawing = Drawing(
        faces=tuple(by_instance.values()),
        dimensions=tuple(sizes),
        tolerances=tuple(asked),
        datums=tuple(datums),
        lost=tuple(lost),
    )
    return drawing, by_instance


def _limited(entity: Entity) -> tuple[int, int]:
    """Of which dimension limits are, and which entity holds them."""
    values = entity.need("PLUS_MINUS_TOLERANCE")
    return part21.reference(values[1]), part21.reference(values[0])


def _dimension(file: Text, known: Links, number: int, limits: dict[int, int]) -> Dimension:
    values = file.entity(number).need(REPRESENTED)
    about, shown = part21.reference(values[0]), file.at(values[1])
    kind, on, to = _of_what(file, known, file.entity(about))
    figures = next(v for k, v in shown.items() if v and k.endswith("REPRESENTATION"))
    nominal, lower, upper, unit, notes = _figures(file, part21.references(figures[1]))
    fit = ""
    if about in limits:
        lower, upper, fit = _ends(file, file.entity(limits[about]), nominal)
    return Dimension(
        name="",
        kind="angle" if unit == "deg" else kind,
        nominal=nominal,
        lower=lower,
        upper=upper,
        unit=unit,
        fit=fit,
        faces=on,
        to=to,
        notes=tuple(notes),
    )


def _of_what(file: Text, known: Links, entity: Entity) -> tuple[str, tuple[int, ...], tuple[int, ...]]:
    """Kind of a dimension, the faces it is of, and those at its other end."""
    size = entity.one_of("DIMENSIONAL_SIZE")
    if size is not None:
        return _kind(part21.words(size[1])), tied(file, known, size[0]), ()
    where = entity.one_of("DIMENSIONAL_LOCATION", "SHAPE_ASPECT_RELATIONSHIP")
    if where is not None and len(where) >= 4:
        return _kind(part21.words(where[0])), tied(file, known, where[2]), tied(file, known, where[3])
    if "ANGULAR_SIZE" in entity or any("LOCATION" in name for name in entity):
        ends = part21.references(next(iter(entity.values())))
        return "angle", tied(file, known, ends[0]), tied(file, known, ends[1]) if len(ends) > 1 else ()
    raise Damaged(f"#{entity.number} is neither a size nor a distance")


def _kind(called: str) -> str:
    return KINDS.get(called.lower(), called.lower() or "distance")


def _figures(
    file: Text, items: list[part21.Reference]
) -> tuple[float | None, float | None, float | None, str, list[str]]:
    """Nominal value, ends and unit among the items of a dimension, and what else they say."""
    nominal = lower = upper = None
    unit, notes = "mm", list[str]()
    for item in items:
        entity = file.entity(item)
        figure = measure(file, entity)
        if figure is None:
            described = entity.one_of("DESCRIPTIVE_REPRESENTATION_ITEM")
            notes += [part21.words(described[1])] if described else []
            continue
        notes += _qualified(file, entity)
        unit = figure.unit
        if "lower" in figure.name:
            lower = figure.value
        elif "upper" in figure.name:
            upper = figure.value
        else:
            nominal = figure.value
    return nominal, lower, upper, unit, notes


def _qualified(file: Text, entity: Entity) -> list[str]:
    """Words that qualify a value, such as "maximum" or "theoretically exact"."""
    values = entity.one_of("QUALIFIED_REPRESENTATION_ITEM")
    words = []
    for reference in part21.references(values[0] if values else None):
        kind = file.entity(reference).one_of("TYPE_QUALIFIER")
        words += [part21.words(kind[0])] if kind else []
    return [word for word in words if word != "nominal value"]


def _ends(file: Text, entity: Entity, nominal: float | None) -> tuple[float | None, float | None, str]:
    values = entity.one_of("TOLERANCE_VALUE")
    if values is not None:
        if nominal is None:
            raise Damaged(f"#{entity.number} is a deviation from a size that is not given")
        ends = [nominal + needed(file, value).value for value in values[:2]]
        return min(ends), max(ends), ""
    words = entity.need("LIMITS_AND_FITS")
    return None, None, f"{part21.words(words[0])}{part21.words(words[2])}"


def _toleranced(file: Text) -> list[int]:
    """All geometric tolerances, in the order of the file."""
    return file.of_type(BARE, *(f"{kind}_TOLERANCE" for kind in TOLERANCES))


def _tolerance(file: Text, known: Links, number: int, zones: dict[int, str]) -> GeometricTolerance:
    entity = file.entity(number)
    kind = next((kind for kind in TOLERANCES if f"{kind}_TOLERANCE" in entity), "")
    values = entity.need(BARE, f"{kind}_TOLERANCE")
    target = file.at(values[3])
    whole = "PRODUCT_DEFINITION_SHAPE" in target
    modifiers = [*_modifiers(entity), *(["all around"] if "ALL_AROUND_SHAPE_ASPECT" in target else [])]
    on = tied(file, known, values[3])
    size = target.one_of("DIMENSIONAL_SIZE")
    if not on and size is not None:  # a tolerance on a dimension is one on what that is of
        on = tied(file, known, size[0])
    return GeometricTolerance(
        kind=kind.replace("_", " ").lower() or "geometric tolerance",
        width_mm=needed(file, values[2]).value,
        zone=zones.get(number, ""),
        datums=tuple(_system(file, entity, values)),
        modifiers=tuple(modifiers),
        faces=on,
        whole=whole,
    )


def _modifiers(entity: Entity) -> Iterator[str]:
    for name in ("GEOMETRIC_TOLERANCE_WITH_MODIFIERS", "MODIFIED_GEOMETRIC_TOLERANCE"):
        for word in part21.flat(entity.get(name)):
            if isinstance(word, part21.Enumerated):
                yield word.replace("_", " ").lower()
    if "UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE" in entity:
        yield "unequally disposed"


def _system(file: Text, entity: Entity, values: part21.Values) -> Iterator[str]:
    """Letters of the datums that a tolerance refers to, in order."""
    with_datums = entity.one_of("GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE")
    named = with_datums[0] if with_datums else values[4] if len(values) > 4 else None
    for reference in part21.references(named):
        one = file.entity(reference)
        if "DATUM_SYSTEM" in one:
            for compartment in part21.references(one["DATUM_SYSTEM"][4]):
                yield _letters(file, file.entity(compartment))
        elif "DATUM_REFERENCE" in one:
            yield part21.words(file.at(one["DATUM_REFERENCE"][1]).need("DATUM")[4])


def _letters(file: Text, entity: Entity, depth: int = 0) -> str:
    """One compartment of a datum system: a letter or several, with modifiers."""
    if depth > DEEPEST:
        raise Damaged(f"#{entity.number} is part of itself")
    values = entity.need(*COMPARTMENTS)
    names = []
    for reference in part21.references(values[4]):
        one = file.entity(reference)
        names.append(part21.words(one["DATUM"][4]) if "DATUM" in one else _letters(file, one, depth + 1))
    modifiers = part21.flat(values[5]) if len(values) > 5 else ()
    return "-".join(names) + "".join(f"({word[0]})" for word in modifiers if isinstance(word, str) and word)


def _zones(file: Text, lost: list[str]) -> Iterator[tuple[int, str]]:
    """Form of each tolerance's zone, where it is round."""

    def formed(number: int) -> list[tuple[int, str]]:
        values = file.entity(number)["TOLERANCE_ZONE"]
        form = part21.words(file.at(values[5])["TOLERANCE_ZONE_FORM"][0])
        return [(tolerance, ZONES.get(form, "")) for tolerance in part21.references(values[4])]

    for pairs in read_each(formed, file.of_type("TOLERANCE_ZONE"), "zone", lost):
        yield from pairs


def _datum(file: Text, known: Links, number: int) -> Datum:
    """A datum, the faces that it is taken from, and those that carry its targets."""
    values = file.entity(number).need("DATUM", "COMMON_DATUM")
    on: dict[int, None] = {}
    targets: dict[int, None] = {}
    for feature in known.wholes.get(number, ()):
        is_target = any(name in file.entity(feature) for name in TARGETS)
        for face in tied(file, known, part21.Reference(feature)):
            (targets if is_target else on)[face] = None
    for face in tied(file, known, part21.Reference(number)):
        on[face] = None
    return Datum(name=part21.words(values[4]), faces=tuple(on), targets=tuple(targets))
