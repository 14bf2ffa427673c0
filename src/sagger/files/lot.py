"""A powder lot's file: TOML with what was measured, its size curve inline or in a CSV beside it."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy import ndarray

from sagger import texts, units
from sagger.errors import InputError, LotError
from sagger.files import beside, measured
from sagger.goods.figure import STANDINGS, Figure
from sagger.goods.lot import Lot, SizeCurve
from sagger.physics.powder import grains
from sagger.statistics import chance

Table = Mapping[str, object]
FIGURES = {
    "apparent_density": "density",
    "tap_density": "density",
    "solid_density": "density",
    "green_density": "pure",
    "oxygen": "pure",
    "price": "price_per_mass",
}
ORIGINS = ("received", "sieved", "blended", "recovered")
METHODS = ("sieve", "laser diffraction")
KEYS = ("name", "powder", "origin", "note", "exposures", "curve", *FIGURES)
PARTS = ("value", "source", "where", "standing", "u", "range")
REACH = (0.1, 0.9)  # shares between which a curve must reach, for d10 and d90
SLACK = 1e-9


def read(path: Path) -> Lot:
    """The lot in a file; docs/lot.md describes it.

    Raises
    ------
    LotError
        With file, field, value and remedy; with line and column for text that is no TOML or no table.
    """
    table = _loaded(path)
    _no_strangers(table, KEYS, path.name, "")
    lot = Lot(
        name=_text(table, "name", path.name) if "name" in table else path.stem,
        powder=_text(table, "powder", path.name),
        origin=_one_of(table.get("origin", "received"), ORIGINS, path.name, "origin"),
        curve=_curve(table["curve"], path) if "curve" in table else None,
        exposures=_exposures(table["exposures"], path.name) if "exposures" in table else None,
        **{name: _figure(table[name], name, path.name) for name in FIGURES if name in table},
    )
    _agree(lot, path.name)
    return lot


def _loaded(path: Path) -> Table:
    remedy = 'Text stands in quotes: value = "4.6 g/cm3".'
    missing = "It is looked for from the order's folder."
    return texts.toml(path, LotError, "the lot", remedy=remedy, missing=missing)


def _figure(entry: object, name: str, file: str) -> Figure:
    """One figure: value, source, where, standing, and at most one of `u` and `range`."""
    if not isinstance(entry, Mapping):
        remedy = f"Write [{name}] with value, source, where and standing."
        raise LotError("a figure is a table", file=file, field=name, value=entry, remedy=remedy)
    _no_strangers(entry, PARTS, file, f"{name}, ")
    kind = FIGURES[name]
    value = _amount(entry, "value", kind, file, name)
    words = {part: _text(entry, part, file, name) for part in ("source", "where")}
    standing = _one_of(entry.get("standing", ""), STANDINGS, file, f"{name}, standing")
    if value <= 0:
        raise LotError("this must be above 0", file=file, field=f"{name}, value", value=entry["value"])
    u = _doubt(entry, value, kind, file, name)
    return Figure(value=value, u=u, printed=entry["value"], standing=standing, **words)


def _doubt(entry: Table, value: float, kind: str, file: str, name: str) -> float:
    if "u" in entry and "range" in entry:
        raise LotError("`u` and `range` are both given", file=file, field=name, remedy="Keep one.")
    if "u" in entry:
        return _amount(entry, "u", kind, file, name)
    if "range" not in entry:
        return 0.0
    low, _, high = _text(entry, "range", file, name).partition(" to ")
    ends = {"range": f"{low} {' '.join(high.split()[1:])}"}, {"range": high}
    first, last = (_amount(end, "range", kind, file, name) for end in ends)
    if not first <= value * (1 + SLACK) or not value <= last * (1 + SLACK):
        raise LotError("the value lies outside its range", file=file, field=name, value=entry["range"])
    return chance.rectangular((last - first) / 2)


def _amount(entry: Table, part: str, kind: str, file: str, name: str) -> float:
    text = _text(entry, part, file, name)
    try:
        return units.read(text, kind)
    except InputError as error:
        field = f"{name}, {part}"
        raise LotError(error.what, file=file, field=field, value=text, remedy=error.remedy) from None


def _curve(entry: object, path: Path) -> SizeCurve:
    """A curve from `size` and `finer`, or from the table in `file`."""
    if not isinstance(entry, Mapping):
        raise LotError("a curve is a table", file=path.name, field="curve", remedy="Write [curve].")
    _no_strangers(entry, ("method", "file", "size", "finer", "note"), path.name, "curve, ")
    method = _one_of(entry.get("method", ""), METHODS, path.name, "curve, method")
    if "file" in entry:
        size, finer = measured.curve(
            beside.file(path, _text(entry, "file", path.name, "curve"), "curve, file", LotError)
        )
        return SizeCurve(size=size, finer=finer, method=method)
    size = _row(entry, "size", "length", path.name)
    finer = _row(entry, "finer", "pure", path.name)
    measured.refuse_crooked(size, finer, path.name)
    return SizeCurve(size=size, finer=finer, method=method)


def _row(entry: Table, part: str, kind: str, file: str) -> ndarray:
    texts = entry.get(part)
    if not isinstance(texts, list) or not texts:
        remedy = 'Write size = ["5 um", …] and finer = ["2 %", …], or file = "curve.csv".'
        raise LotError("a row of texts is needed", file=file, field=f"curve, {part}", remedy=remedy)
    return np.array([_amount({part: text}, part, kind, file, "curve") for text in texts])


def _exposures(entry: object, file: str) -> ndarray:
    listed = entry if isinstance(entry, list) else []
    shares = [share for share in listed if isinstance(share, int | float)]
    if len(shares) < len(listed) or min(shares, default=-1) < 0 or abs(sum(shares) - 1) > 1e-6:
        what = "mass shares after 0, 1, 2 … builds, together 1, are needed"
        raise LotError(what, file=file, field="exposures", value=entry, remedy="Virgin powder: [1.0].")
    return np.array(shares, float)


def _agree(lot: Lot, file: str) -> None:
    """Densities must rise from poured to solid, and a curve must reach d10 and d90."""
    rising = [
        (name, figure.value)
        for name in ("apparent_density", "tap_density", "solid_density")
        if (figure := getattr(lot, name)) is not None
    ]
    for (lower, low), (upper, high) in pairwise(rising):
        if low >= high:
            wrong = f"{lower} must lie below {upper}"
            raise LotError(wrong, file=file, field=lower, value=f"{low:g} kg/m3", remedy="Check both.")
    if lot.green_density is not None and lot.green_density.value >= 1:
        raise LotError("it is relative to the solid, below 1", file=file, field="green_density")
    if lot.curve is not None:
        for share in REACH:
            if not lot.curve.finer[0] <= share <= lot.curve.finer[-1]:
                wrong = f"the curve does not reach {share:.0%} finer"
                raise LotError(wrong, file=file, field="curve", remedy="Measure it farther.")
        grains.percentile(lot.curve.size.tolist(), lot.curve.finer.tolist(), 0.5)


def _text(entry: Table, part: str, file: str, name: str = "") -> str:
    text = entry.get(part, "")
    if isinstance(text, str) and text.strip():
        return text
    field = f"{name}, {part}" if name else part
    remedy = f'Write {part} = "…".'
    raise LotError("text is needed here", file=file, field=field, value=text, remedy=remedy)


def _one_of(word: object, known: tuple[str, ...], file: str, field: str) -> str:
    if word in known:
        return str(word)
    raise LotError(
        "no such word here", file=file, field=field, value=word, remedy=f"One of: {', '.join(known)}."
    )


def _no_strangers(table: Table, known: tuple[str, ...], file: str, before: str) -> None:
    for key in table:
        if key not in known:
            remedy = f"Known: {', '.join(known)}."
            raise LotError("there is no such key", file=file, field=f"{before}{key}", remedy=remedy)
