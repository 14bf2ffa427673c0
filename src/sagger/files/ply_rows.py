"""Rows of a PLY file, as its header says they stand; the file must be long enough for it."""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import PartFileError

CORNERS = ("vertex_indices", "vertex_index")
MOST_CORNERS = 10_000  # of one face
AGAIN = "The file is damaged; export it again, best as 3MF."


class Property(NamedTuple):
    """One value of an element; `counted` is the type of a list's length, "" where it is no list."""

    name: str
    type: str
    counted: str


class Element(NamedTuple):
    """One kind of row."""

    name: str
    rows: int
    properties: tuple[Property, ...]

    @property
    def least_bytes(self) -> int:
        """Of one row, its lists empty."""
        return sum(int((each.counted or each.type)[1]) for each in self.properties)


class TextRows:
    """Rows of an ASCII file, one a line."""

    def __init__(self, data: bytes, name: str):
        self._name = name
        lines = data.split(b"\n") if b"\n" in data else data.split(b"\r")
        self._lines = (words for line in lines if (words := line.split()))
        self._held, self._row = len(data), 0

    def vertices(self, element: Element) -> ndarray:
        axes, made = _axes(element, self._name), array("d")
        for words in self._rows(element):
            if len(words) != len(element.properties):
                raise self._wrong("a vertex has too few or too many numbers", words)
            made.extend([self._number(words, at) for at in axes])
        return np.frombuffer(made, np.float64).reshape(-1, 3)

    def faces(self, element: Element, corners: array[int], counts: array[int]) -> None:
        wanted = _list(element, self._name)
        for words in self._rows(element):
            at = 0
            for place, each in enumerate(element.properties):
                count = self._whole(words, at, MOST_CORNERS) if each.counted else 1
                at += bool(each.counted)
                if place == wanted:
                    if count < 3:
                        raise self._wrong("a face has 3 corners or more", words)
                    corners.extend([self._whole(words, at + k, 2**40) for k in range(count)])
                    counts.append(count)
                at += count
            if at != len(words):
                raise self._wrong("a face has too few or too many numbers", words)

    def passed(self, element: Element) -> None:
        for _ in self._rows(element):
            pass

    def end(self) -> None:
        if words := next(self._lines, None):
            raise self._wrong("there are more rows than its header says", words)

    def _rows(self, element: Element) -> Iterator[list[bytes]]:
        if element.rows > self._held:
            raise _no_room(element, self._name)
        for number in range(element.rows):
            self._row = number + 1
            words = next(self._lines, None)
            if words is None:
                wrong = (
                    f"its header promises {element.rows:,} rows of {element.name}, the file holds {number:,}"
                )
                raise PartFileError(wrong, file=self._name, field=f"element {element.name}", remedy=AGAIN)
            yield words

    def _number(self, words: list[bytes], at: int) -> float:
        try:
            return float(words[at])
        except ValueError:
            raise self._wrong("this is no number", words) from None

    def _whole(self, words: list[bytes], at: int, most: int) -> int:
        word = words[at] if at < len(words) else b""
        if not re.fullmatch(rb"\d{1,13}", word) or int(word) > most:
            raise self._wrong("a face has too few numbers, or one that no list can have", words)
        return int(word)

    def _wrong(self, what: str, words: list[bytes]) -> PartFileError:
        shown = b" ".join(words)[:60].decode("latin-1")
        return PartFileError(what, file=self._name, field=f"row {self._row}", value=shown, remedy=AGAIN)


class ByteRows:
    """Rows of a binary file."""

    def __init__(self, data: bytes, start: int, order: str, name: str):
        self._data, self._at, self._order, self._name = data, start, order, name

    def vertices(self, element: Element) -> ndarray:
        axes = _axes(element, self._name)
        rows = self._table(
            element, [(f"p{n}", self._order + e.type) for n, e in enumerate(element.properties)]
        )
        return np.stack([rows[f"p{at}"].astype(np.float64) for at in axes], axis=1)

    def faces(self, element: Element, corners: array[int], counts: array[int]) -> None:
        wanted = _list(element, self._name)
        if not self._all_triangles(element, wanted, corners, counts):
            for _ in range(element.rows):
                self._face(element, wanted, corners, counts)

    def passed(self, element: Element) -> None:
        self._room(element)
        if any(column.counted for column in element.properties):
            for _ in range(element.rows):
                for column in element.properties:
                    self._values(column)
        else:
            self._at += element.rows * element.least_bytes

    def end(self) -> None:
        if len(self._data) - self._at > 2:  # a last line feed is common
            what = f"{len(self._data) - self._at} bytes follow what its header says"
            raise PartFileError(what, file=self._name, field="end of file", remedy=AGAIN)

    def _all_triangles(self, element: Element, wanted: int, corners: array[int], counts: array[int]) -> bool:
        """Read at one stroke what nearly every file is: faces of three corners, and one list a row."""
        self._room(element)
        if sum(bool(column.counted) for column in element.properties) != 1:
            return False
        kinds: list[tuple[str, str] | tuple[str, str, int]] = []
        for number, column in enumerate(element.properties):
            if column.counted:
                kinds.append(("count", self._order + column.counted))
                kinds.append(("corners", self._order + column.type, 3))
            else:
                kinds.append((f"p{number}", self._order + column.type))
        size = np.dtype(kinds).itemsize
        if self._at + size * element.rows > len(self._data):
            return False
        rows = np.frombuffer(self._data, np.dtype(kinds), element.rows, self._at)
        if (rows["count"] != 3).any():
            return False
        corners.frombytes(rows["corners"].astype(np.int64).tobytes())
        counts.frombytes(np.full(element.rows, 3, np.int64).tobytes())
        self._at += size * element.rows
        return True

    def _face(self, element: Element, wanted: int, corners: array[int], counts: array[int]) -> None:
        for place, each in enumerate(element.properties):
            values = self._values(each)
            if place == wanted:
                if not 3 <= len(values) <= MOST_CORNERS:
                    what = f"a face has 3 to {MOST_CORNERS:,} corners"
                    raise self._wrong(what, len(values))
                corners.extend(values.astype(np.int64).tolist())
                counts.append(len(values))

    def _values(self, column: Property) -> ndarray:
        count = int(self._some(column.counted, 1)[0]) if column.counted else 1
        if count < 0:
            raise self._wrong("a list has fewer than no values", count)
        return self._some(column.type, count)

    def _some(self, kind: str, count: int) -> ndarray:
        size = int(kind[1]) * count
        if self._at + size > len(self._data):
            raise self._wrong("the file ends in the middle of a row", count)
        values = np.frombuffer(self._data, self._order + kind, count, self._at)
        self._at += size
        return values

    def _table(self, element: Element, kinds: list[tuple[str, str]]) -> ndarray:
        self._room(element)
        rows = np.frombuffer(self._data, np.dtype(kinds), element.rows, self._at)
        self._at += rows.nbytes
        return rows

    def _room(self, element: Element) -> None:
        held = len(self._data) - self._at
        if element.rows * element.least_bytes > held:
            raise _no_room(element, self._name)

    def _wrong(self, what: str, value: object) -> PartFileError:
        return PartFileError(what, file=self._name, field=f"byte {self._at}", value=value, remedy=AGAIN)


def _axes(element: Element, name: str) -> list[int]:
    """Where x, y and z stand in a row of vertices."""
    names = [each.name for each in element.properties]
    wrong = any(each.counted for each in element.properties) or len(set(names)) < len(names)
    if wrong or not set("xyz") <= set(names):
        what = "its vertices have no x, y and z, each one number"
        raise PartFileError(what, file=name, field="element vertex", remedy=AGAIN)
    return [names.index(axis) for axis in "xyz"]


def _list(element: Element, name: str) -> int:
    """Where the corners stand in a row of faces."""
    wanted = [at for at, each in enumerate(element.properties) if each.name in CORNERS and each.counted]
    if len(wanted) != 1 or element.properties[wanted[0]].type[0] == "f":
        what = "its faces have no list of corners, vertex_indices"
        raise PartFileError(what, file=name, field="element face", remedy=AGAIN)
    return wanted[0]


def _no_room(element: Element, name: str) -> PartFileError:
    what = f"its header promises {element.rows:,} rows of {element.name}, more than the file has room for"
    return PartFileError(what, file=name, field=f"element {element.name}", remedy=AGAIN)
