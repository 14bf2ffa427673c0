"""A card file becomes a good, or is refused with file, field, value and remedy.

A card is a TOML file. Each figure is a table: value (text with unit), source (key in sources.toml), where,
standing, and, where known, `u` (standard uncertainty) or `range` ("7.9 to 8.0 g/cm3").
"""

from __future__ import annotations

import dataclasses
import difflib
import math
import tomllib
import types
import typing
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from sagger import units
from sagger.cards.agree import agree
from sagger.errors import CardError, InputError
from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.figure import STANDINGS, Figure
from sagger.goods.furnace import Furnace
from sagger.goods.good import good
from sagger.goods.head import Head
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder, Segment
from sagger.goods.shop import Shop

SHIPPED = Path(__file__).parent
KINDS: dict[str, tuple[type, str]] = {
    "powder": (Powder, "powders"),
    "binder": (Binder, "binders"),
    "head": (Head, "heads"),
    "box": (Box, "boxes"),
    "oven": (Oven, "ovens"),
    "furnace": (Furnace, "furnaces"),
    "shop": (Shop, "shops"),
}
PARTS = ("value", "source", "where", "standing", "range", "u")  # of a figure
OPTIONAL = ("castings",)  # lists that may be left out
DIFFERENCES = (("Furnace", "uniformity"),)  # temperatures that are differences: no zero of a scale in them
STRETCH = {"rate": "heating_rate", "target": "temperature", "hold": "time"}  # kinds in a furnace programme
POSITIVE = ("length", "volume", "density", "resolution", "count", "speed", "frequency", "viscosity",
            "surface_tension", "temperature", "heating_rate", "conductivity", "heat_capacity",
            "heat_transfer", "pressure", "molar_energy", "molar_mass", "viscosity_per_kelvin")  # fmt: skip


@good
class Page:
    """What a reader must know besides the table it reads."""

    file: str
    sources: Mapping[str, Mapping[str, Any]]


def load(kind: str, name: str, folders: Iterable[Path] = ()) -> Any:
    """The card of this kind and name as a frozen good; a card in `folders` stands before a shipped one.

    Parameters
    ----------
    kind : str
        "powder", "binder", "head", "box", "oven", "furnace" or "shop".
    name : str
        Name of the card: its file name without ".toml".
    folders : iterable of Path
        Folders with cards of one's own, laid out as the shipped one (powders/, binders/, …, sources.toml);
        the first that holds the name wins.

    Raises
    ------
    CardError
        If no card has that name, or if the card is refused.
    """
    cls, _ = _kind(kind)
    roots = (*folders, SHIPPED)
    path = find(kind, name, roots)
    page = Page(file=path.name, sources=read_sources(roots))
    table = open_table(path)
    table.pop("note", None)
    built = build(cls, table, page, fixed={"name": name})
    agree(built, path.name)
    return built


def names(kind: str, folders: Iterable[Path] = ()) -> list[str]:
    """Names of all cards of this kind, sorted."""
    _, folder = _kind(kind)
    return sorted({path.stem for root in (*folders, SHIPPED) for path in (root / folder).glob("*.toml")})


def find(kind: str, name: str, roots: Iterable[Path]) -> Path:
    """The file that holds this card."""
    _, folder = _kind(kind)
    roots = tuple(roots)
    known = names(kind, roots)
    if name not in known:
        raise CardError(f"no {kind} card has this name", value=name, remedy=near(name, known))
    return next(path for root in roots if (path := root / folder / f"{name}.toml").is_file())


def read_sources(roots: Iterable[Path]) -> dict[str, Mapping[str, Any]]:
    """Every source that may be cited, by key: the shipped ones and those beside one's own cards."""
    files = [root / "sources.toml" for root in (*roots, SHIPPED)]
    tables = [open_table(file) for file in files if file.is_file()]
    return {key: entry for table in reversed(tables) for key, entry in table.items()}


def open_table(path: Path) -> dict[str, Any]:
    """What a TOML file says."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        what = f"the file cannot be read as TOML: {fault}"
        raise CardError(what, file=path.name, remedy="Mend the line named.") from fault


def build(cls: type, table: Mapping[str, Any], page: Page, field: str = "", fixed: Any = None) -> Any:
    """A good of class `cls` from a table, each field read by its kind."""
    fixed = fixed or {}
    hints = typing.get_type_hints(cls)
    wanted = {entry.name: entry for entry in dataclasses.fields(cls) if entry.name not in fixed}
    _no_strangers(table, wanted, page, field)
    values = {}
    for name, entry in wanted.items():
        at = f"{field}.{name}" if field else name
        kind = entry.metadata.get("kind") or (STRETCH.get(name) if cls is Segment else None)
        if name not in table and not _may_miss(hints[name], name):
            raise CardError("this field is missing", file=page.file, field=at, remedy="Add it to the card.")
        if entry.metadata.get("kind"):
            values[name] = figure(table[name], kind, page, at, span=(cls.__name__, name) in DIFFERENCES)
        elif kind:
            values[name] = amount(table[name], kind, page, at)
        else:
            values[name] = _plain(hints[name], table.get(name), page, at)
    return cls(**fixed, **values)


def figure(entry: Any, kind: str, page: Page, at: str, span: bool = False) -> Figure:
    """A figure with its source, refused if anything about it is missing or does not fit."""
    if not isinstance(entry, Mapping):
        remedy = f'Write [{at}] with value = "…", source, where and standing.'
        raise CardError("a figure is a table with unit and source", file=page.file, field=at, value=entry,
                        remedy=remedy)  # fmt: skip
    _no_strangers(entry, PARTS, page, at)
    text = _word(entry, "value", page, at)
    source, where, standing = trust(entry, page, at)
    value = amount(text, kind, page, at, span=span)
    u = _uncertainty(entry, value, kind, page, at, span)
    return Figure(value=value, u=u, printed=text, source=source, where=where, standing=standing)


def trust(entry: Mapping[str, Any], page: Page, at: str) -> tuple[str, str, str]:
    """Source, place and standing of an entry; refused if the source is unknown or the standing is no word of ours."""
    source, where, standing = (_word(entry, part, page, at) for part in ("source", "where", "standing"))
    if source not in page.sources:
        remedy = f"Add it to sources.toml, or did you mean one of these? {near(source, page.sources)}"
        raise CardError(
            "no source has this key", file=page.file, field=f"{at}.source", value=source, remedy=remedy
        )
    if standing not in STANDINGS:
        remedy = f"One of: {', '.join(STANDINGS)}."
        raise CardError(
            "this is no standing", file=page.file, field=f"{at}.standing", value=standing, remedy=remedy
        )
    return source, where, standing


def amount(text: Any, kind: str, page: Page, at: str, span: bool = False) -> float:
    """SI value of a text such as "1.23 g/cm3"."""
    if not isinstance(text, str):
        remedy = 'Write it as text with its unit, such as "1.23 g/cm3".'
        raise CardError("a number without unit", file=page.file, field=at, value=text, remedy=remedy)
    try:
        value = units.span(text, kind) if span else units.read(text, kind)
    except InputError as fault:
        raise CardError(fault.what, file=page.file, field=at, value=text, remedy=fault.remedy) from fault
    low = value <= 0 if kind in POSITIVE else value < 0
    if low or not math.isfinite(value):
        least = "more than zero" if kind in POSITIVE else "zero or more"
        raise CardError(f"this must be finite and {least}", file=page.file, field=at, value=text)
    if kind == "count" and value != round(value):
        raise CardError("this is counted in whole numbers", file=page.file, field=at, value=text)
    return value


def near(word: str, known: Iterable[str]) -> str:
    """What was probably meant, or all there is."""
    known = list(known)
    close = difflib.get_close_matches(word, known, n=3)
    return f"Nearest: {', '.join(close)}." if close else f"Known: {', '.join(sorted(known))}."


def _uncertainty(entry: Mapping[str, Any], value: float, kind: str, page: Page, at: str, span: bool) -> float:
    if "u" in entry and "range" in entry:
        raise CardError("`u` and `range` both given", file=page.file, field=at, remedy="Keep one of the two.")
    if "u" in entry:
        text = _word(entry, "u", page, at)
        try:
            return units.span(text, kind)
        except InputError as fault:
            raise CardError(
                fault.what, file=page.file, field=f"{at}.u", value=text, remedy=fault.remedy
            ) from fault
    if "range" not in entry:
        return 0.0
    low, high = _ends(_word(entry, "range", page, at), kind, page, f"{at}.range", span)
    slack = 1e-9 * abs(value)
    if not low - slack <= value <= high + slack:
        remedy = "Widen the range or mend the value."
        raise CardError("the value lies outside its range", file=page.file, field=at, value=entry["value"],
                        remedy=f"Range: {entry['range']}. {remedy}")  # fmt: skip
    return (high - low) / 2 / math.sqrt(3)  # rectangular distribution, JCGM 100:2008, 4.3.7


def _ends(text: str, kind: str, page: Page, at: str, span: bool) -> tuple[float, float]:
    low, joined, high = text.partition(" to ")
    word = high.split()[-1] if high.split() else ""
    if not joined or len(high.split()) < 2:
        remedy = 'Write it as "7.9 to 8.0 g/cm3".'
        raise CardError("this is no range", file=page.file, field=at, value=text, remedy=remedy)
    if len(low.split()) == 1:
        low = f"{low} {word}"
    ends = amount(low, kind, page, at, span=span), amount(high, kind, page, at, span=span)
    if ends[0] > ends[1]:
        raise CardError(
            "the range runs backwards", file=page.file, field=at, value=text, remedy="Swap its ends."
        )
    return ends


def _plain(hint: Any, value: Any, page: Page, at: str) -> Any:
    """Anything on a card that is not a figure: text, a count, a list of words, a table, a list of tables."""
    inner = typing.get_args(hint)
    if typing.get_origin(hint) is types.UnionType:  # `Sintering | None`
        return None if value is None else build(inner[0], _table(value, page, at), page, at)
    if typing.get_origin(hint) is tuple and dataclasses.is_dataclass(inner[0]):
        return tuple(_rows(inner[0], value or [], page, at))
    if typing.get_origin(hint) is tuple:
        if isinstance(value, list) and all(isinstance(word, str) for word in value):
            return tuple(value)
        raise CardError("a list of words is needed", file=page.file, field=at, value=value,
                        remedy='Write it as ["one", "other"].')  # fmt: skip
    if isinstance(value, hint) and not isinstance(value, bool):
        return value
    raise CardError(f"this must be {'text' if hint is str else 'a whole number'}", file=page.file, field=at,
                    value=value)  # fmt: skip


def _rows(cls: type, rows: Any, page: Page, at: str) -> Iterable[Any]:
    if not isinstance(rows, list):
        raise CardError("a list of tables is needed", file=page.file, field=at, remedy=f"Write [[{at}]].")
    for index, row in enumerate(rows, start=1):
        place = f"{at}[{index}]"
        table = dict(_table(row, page, place))
        if cls is Segment:  # a stretch of programme says where it comes from; the good keeps only the stretch
            trust(table, page, place)
            table = {key: value for key, value in table.items() if key not in ("source", "where", "standing")}
        yield build(cls, table, page, place)


def _table(value: Any, page: Page, at: str) -> Mapping[str, Any]:
    if isinstance(value, Mapping):
        return value
    raise CardError("a table is needed", file=page.file, field=at, value=value, remedy=f"Write [{at}].")


def _word(entry: Mapping[str, Any], part: str, page: Page, at: str) -> str:
    word = entry.get(part, "")
    if isinstance(word, str) and word.strip():
        return word
    remedy = f'Write {part} = "…" below [{at}].'
    raise CardError(
        f"a figure needs its {part}", file=page.file, field=f"{at}.{part}", value=word, remedy=remedy
    )


def _no_strangers(table: Mapping[str, Any], known: Iterable[str], page: Page, at: str) -> None:
    for key in table:
        if key not in known:
            place = f"{at}.{key}" if at else key
            raise CardError("no field has this name", file=page.file, field=place, remedy=near(key, known))


def _may_miss(hint: Any, name: str) -> bool:
    return name in OPTIONAL or types.NoneType in typing.get_args(hint)


def _kind(kind: str) -> tuple[type, str]:
    if kind not in KINDS:
        raise CardError("there are no cards of this kind", value=kind, remedy=near(kind, KINDS))
    return KINDS[kind]
