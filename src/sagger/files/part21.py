"""The clear text of STEP files (ISO 10303-21): numbered instances of entities with their parameters.

Only the text is read here; what it means is for others. Each instance is taken apart when it is asked for, so
that one that is damaged spoils only what stands on it.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

DEEPEST = 100  # brackets within brackets; no instance of a real file comes near
_STATEMENT = re.compile(r"\s*#(\d+)\s*=\s*")
_WORD = re.compile(r"\s*([A-Za-z_!][A-Za-z_0-9]*)\s*")
_COMMENT_OR_TEXT = re.compile(r"'[^']*'|/\*.*?\*/", re.DOTALL)
_WIDE, _FULL = re.compile(r"\\X2\\([0-9A-Fa-f]*)\\X0\\"), re.compile(r"\\X4\\([0-9A-Fa-f]*)\\X0\\")
_BYTE, _SHIFTED = re.compile(r"\\X\\([0-9A-Fa-f]{2})"), re.compile(r"\\S\\([ -~])")
_TEXT_OR_END = re.compile(r"'[^']*'|;")  # one pass: a nested pattern takes for ever over a lost quote
_TOKEN = re.compile(
    r"""\s*(?:(?P<text>'(?:[^']|'')*')|(?P<reference>\#\d+)|(?P<enum>\.[A-Za-z_0-9]+\.)
    |(?P<number>[-+]?\d+\.?\d*(?:[eE][-+]?\d+)?)|(?P<word>[A-Za-z_!][A-Za-z_0-9]*)|(?P<binary>"[0-9A-Fa-f]*")
    |(?P<sign>[(),$*]))""",
    re.VERBOSE,
)


class Damaged(Exception):
    """A place in the text that cannot be taken apart, or does not hold what it must."""


class Reference(int):
    """The number of another instance."""


class Enumerated(str):
    """A word between dots."""


class Typed(NamedTuple):
    """Parameters with the name of their type before them."""

    name: str
    values: Values


Value = Reference | Enumerated | Typed | str | float | None | tuple["Value", ...]
Values = tuple[Value, ...]


class Entity(dict[str, "Values"]):
    """One instance: parameters by name of type; a complex instance has several."""

    def __init__(self, number: int, types: dict[str, Values]) -> None:
        super().__init__(types)
        self.number = number

    def one_of(self, *names: str) -> Values | None:
        """Parameters of the first of these types that the instance has."""
        return next((self[name] for name in names if name in self), None)

    def need(self, *names: str) -> Values:
        """The same, `Damaged` if it has none of them."""
        values = self.one_of(*names)
        if values is None:
            raise Damaged(f"#{self.number} is {', '.join(self) or 'nothing'}, not {' or '.join(names)}")
        return values


class Text:
    """All instances of a file, by number and by type."""

    def __init__(self, text: str) -> None:
        self._bodies: dict[int, str] = {}
        self._known: dict[int, Entity] = {}
        self._of_type: dict[str, list[int]] = defaultdict(list)
        self.doubled = set[int]()  # numbers that stand for two things
        for number, body in _statements(text):
            if self._bodies.get(number, body) != body:
                self.doubled.add(number)
            self._bodies[number] = body
            for name in _types(body):
                self._of_type[name].append(number)
        self._place = {number: place for place, number in enumerate(self._bodies)}

    def __contains__(self, number: int) -> bool:
        return number in self._bodies

    def body(self, number: int) -> str:
        """What stands behind the number of an instance that is there."""
        return self._bodies[number]

    def of_type(self, *names: str) -> list[int]:
        """Numbers of the instances of these types, in the order of the file."""
        found = {number for name in names for number in self._of_type.get(name, ())}
        return sorted(found, key=self._place.__getitem__)

    def types(self) -> tuple[str, ...]:
        """Names of all types that occur."""
        return tuple(self._of_type)

    def entity(self, number: int) -> Entity:
        """An instance taken apart; `Damaged` if it is not there or cannot be."""
        if number not in self._known:
            if number not in self._bodies:
                raise Damaged(f"#{number} is not in the file")
            self._known[number] = Entity(number, _taken_apart(self._bodies[number], number))
        return self._known[number]

    def at(self, value: Value) -> Entity:
        """The instance that a parameter refers to."""
        return self.entity(reference(value))


def reference(value: Value) -> Reference:
    """The parameter as a reference; `Damaged` if it is none."""
    if not isinstance(value, Reference):
        raise Damaged(f"{_shown(value)} stands where an instance should be named")
    return value


def number(value: Value) -> float:
    """The parameter as a number, out of its type if it has one; `Damaged` if it is none."""
    if isinstance(value, Typed) and len(value.values) == 1:
        value = value.values[0]
    if isinstance(value, Reference) or not isinstance(value, int | float):
        raise Damaged(f"{_shown(value)} stands where a number should be")
    return float(value)


def words(value: Value) -> str:
    """The parameter as text, "" where it is left out; `Damaged` if it is none."""
    if value is None:
        return ""
    if not isinstance(value, str):
        raise Damaged(f"{_shown(value)} stands where text should be")
    return value


def flat(value: Value) -> Iterator[Value]:
    """All parameters within lists and typed lists, one by one."""
    open_ends = [value]
    while open_ends:
        next_one = open_ends.pop()
        if isinstance(next_one, Typed):
            open_ends.extend(reversed(next_one.values))
        elif isinstance(next_one, tuple):
            open_ends.extend(reversed(next_one))
        else:
            yield next_one


def references(value: Value) -> list[Reference]:
    """All references within a parameter."""
    return [item for item in flat(value) if isinstance(item, Reference)]


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """Number and body of each instance. A lost quote or semicolon costs the instances it runs into."""
    text = _COMMENT_OR_TEXT.sub(lambda token: "" if token[0].startswith("/*") else token[0], text)
    start = max(0, text.find("DATA"))
    for token in _TEXT_OR_END.finditer(text, start):
        if token[0] == ";":
            head = _STATEMENT.match(text, start, token.start())
            if head:
                yield int(head[1]), text[head.end() : token.start()].strip()
            start = token.end()


def _types(body: str) -> list[str]:
    """Names of an instance's types: the word before its parameters, or each of a complex one."""
    if not body.startswith("("):
        found = _WORD.match(body)
        return [found[1].upper()] if found else []
    names, depth = [], 0
    for token in re.finditer(r"'[^']*'|[()]|[A-Za-z_][A-Za-z_0-9]*", body):
        if token[0] == "(":
            depth += 1
        elif token[0] == ")":
            depth -= 1
        elif depth == 1 and token[0][0] != "'":
            names.append(token[0].upper())
    return names


def _taken_apart(body: str, number: int) -> dict[str, Values]:
    types: dict[str, Values] = {}
    at = 1 if body.startswith("(") else 0
    while found := _WORD.match(body, at):
        types[found[1].upper()], at = _parameters(body, found.end(), number)
        if not body.startswith("("):
            break
    if not types:
        raise Damaged(f"#{number} names no type: {body[:40]!r}")
    return types


def _parameters(body: str, at: int, number: int) -> tuple[Values, int]:
    """The parameters in the brackets that open at `at`, and the place after them."""
    if body[at : at + 1] != "(":
        raise Damaged(f"#{number} has no parameters: {body[:40]!r}")
    at += 1
    lists: list[tuple[str, list[Value]]] = [("", [])]
    word = ""
    while lists:
        token = _TOKEN.match(body, at)
        if token is None or len(lists) > DEEPEST:
            raise Damaged(f"#{number} cannot be read from {body[at : at + 30]!r} on")
        at, kind = token.end(), token.lastgroup
        read = token[kind] if kind else ""
        if read == "(" and kind == "sign":
            lists.append((word, []))
            word = ""
        elif read == ")" and kind == "sign":
            name, values = lists.pop()
            if not lists:
                return tuple(values), at
            lists[-1][1].append(Typed(name, tuple(values)) if name else tuple(values))
        elif kind == "word":
            word = read.upper()
        elif read != ",":
            lists[-1][1].append(_value(str(kind), read))
    raise Damaged(f"#{number} ends too soon")


def _value(kind: str, read: str) -> Value:
    if kind == "reference":
        return Reference(read[1:])
    if kind == "number":
        return float(read)
    if kind == "enum":
        return Enumerated(read[1:-1].upper())
    if kind == "text":
        return _decoded(read[1:-1].replace("''", "'"))
    return None if kind == "sign" else read.strip('"')


def _decoded(text: str) -> str:
    """Text with its control directives for other alphabets taken out; as it stands where one is damaged."""
    if "\\" not in text:
        return text
    try:
        text = _WIDE.sub(lambda match: bytes.fromhex(match[1]).decode("utf-16-be"), text)
        text = _FULL.sub(lambda match: bytes.fromhex(match[1]).decode("utf-32-be"), text)
    except ValueError:
        return text
    text = _BYTE.sub(lambda match: chr(int(match[1], 16)), text)
    return _SHIFTED.sub(lambda match: chr(ord(match[1]) + 128), text).replace("\\\\", "\\")


def _shown(value: Value) -> str:
    return f"#{value:d}" if isinstance(value, Reference) else repr(value)[:60]
