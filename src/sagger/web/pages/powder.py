"""Powder on the shelf: every way it moves, as a form; and second cuts tried on a lot."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from nicegui import context, ui

from sagger.cards import DEFAULTS
from sagger.desk import book, lot_typed, lots, painter
from sagger.errors import InputError, SaggerError
from sagger.ledger.lots import Step
from sagger.views.wording import signed
from sagger.web import blocks, frame

OF = "from which lots (each as name=mass, commas between: L-0417=12 kg, L-0418=3 kg)"


class Move(NamedTuple):
    """One way in which powder moves."""

    title: str
    labels: Mapping[str, str]  # of its fields, by key; "lot" is chosen from the shelf
    button: str
    do: Callable[[dict[str, str], Step], str]


def _parts(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(",") if word.strip())


MOVES = (
    Move(
        "Sieve a lot",
        {
            "lot": "lot",
            "new": "name of the sieved lot",
            "passed": "passed the sieve, such as 11.2 kg",
            "oversize": "stayed on it, thrown away",
            "taken": "put on the sieve (empty = all)",
        },
        "Book the sieving",
        lambda said, step: lots.sieve(
            said["lot"], said["new"], said | {"oversize": said["oversize"] or "0 kg"}, None, step
        ),
    ),
    Move(
        "Blend lots",
        {"new": "name of the blend", "of": OF, "mass": "weighed afterwards (empty = all of it)"},
        "Book the blend",
        lambda said, step: lots.blend(said["new"], _parts(said["of"]), said["mass"], None, step),
    ),
    Move(
        "Charge a box",
        {"box": "name of the box that is printed", "of": OF},
        "Book the charge",
        lambda said, step: lots.charge(said["box"], _parts(said["of"]), step),
    ),
    Move(
        "Book a printed box",
        {"box": "name of the box", "job": "number of its job", "number": "which box of that job, from 1"},
        "Book the box",
        lambda said, step: book.box(said["box"], _whole(said, "job"), _whole(said, "number"), step)[0],
    ),
    Move(
        "Empty a box",
        {
            "box": "name of the box",
            "new": "name of the powder that comes back",
            "recovered": "loose powder weighed",
            "pieces": "powder in the pieces: green mass less binder",
            "oversize": "left on the sieve, thrown away",
        },
        "Book the emptying",
        lambda said, step: lots.recover(
            said["box"], said["new"], said | {"oversize": said["oversize"] or "0 kg"}, None, step
        ),
    ),
    Move(
        "Throw powder away",
        {"lot": "lot", "mass": "how much (empty = all that is left)"},
        "Book it as thrown away",
        lambda said, step: lots.scrap(said["lot"], said["mass"], step),
    ),
)


def moves(look: Callable[[], None]) -> None:
    """A form for each way that powder moves; `look` shows the shelf anew."""
    for each in MOVES:
        with ui.expansion(each.title).classes("more"):
            _form(each, look)


def typed(draft: str, powders: list[str], look: Callable[[], None]) -> None:
    """A lot that comes without a file: what was weighed and sieved is typed in."""
    with ui.expansion("Type a lot in, with its sieve table").classes("more"):
        with ui.element("div").classes("fields"):
            fields: dict[str, Any] = {"name": frame.ask("name of the lot")}
            fields["powder"] = _powder(powders)
            for key, words in lot_typed.ASKED.items():
                fields[key] = frame.ask(words)
            person = who()
        table = ui.textarea("sieve table: opening and mass that stayed, a line each, pan 0")
        table.props(frame.LOOK + ' rows=6 placeholder="53 um 12.4 g"')

        def receive() -> str:
            said = {key: str(field.value or "").strip() for key, field in fields.items()}
            return lot_typed.receive(draft, said, table.value or "", person.value)

        frame.button("Book the lot in", lambda: _do(receive, look))


def cuts(powders: list[str]) -> None:
    """What second cuts would do to a lot."""
    with ui.expansion("Try second cuts on a lot").classes("more"):
        with ui.element("div").classes("fields"):
            lot = _lot("lot")
            others = frame.ask("other lots, commas between (empty = imagined ones)")
            powder = _powder(powders)
        told = ui.html("", sanitize=False).props('role="status" aria-live="polite"')

        async def go() -> None:
            told.content = "<p>trying …</p>"
            try:
                given = str(lot.value or ""), _parts(others.value), powder.value
                made = json.loads(await painter.ask(painter.TRIES, "blended", *given))
                told.content = str(blocks.items(signed(line.strip()) for line in made["lines"]))
            except SaggerError as error:
                told.content = ""
                frame.refused(error)

        frame.button("Try them", go)


def who() -> Any:
    """The field for who enters it."""
    known = frame.person()["name"] if frame.rules().accounts() else ""
    field = frame.ask("entered by", value=known)
    return field.props("readonly") if known else field


def _form(move: Move, look: Callable[[], None]) -> None:
    with ui.element("div").classes("fields"):
        fields = {
            key: _lot(words) if key == "lot" else frame.ask(words) for key, words in move.labels.items()
        }
        person, note = who(), frame.ask("note")

    def deed() -> str:
        said = {key: str(field.value or "").strip() for key, field in fields.items()}
        return move.do(said, Step(person=person.value, note=note.value))

    frame.button(move.button, lambda: _do(deed, look))


def refresh() -> None:
    """The lists of lots offer what is on the shelf now."""
    for each in context.client.storage.get("lots", []):
        each.set_options(_names(), value=each.value if each.value in _names() else None)


def _lot(words: str) -> Any:
    names = _names()
    made = ui.select(names, value=names[0] if names else None, label=words).props(frame.LOOK)
    context.client.storage.setdefault("lots", []).append(made)
    return made


def _powder(names: list[str]) -> Any:
    return ui.select(names, value=DEFAULTS.powder, label="powder card").props(frame.LOOK)


def _names() -> list[str]:
    return [each["name"] for each in lots.shelf()[0]["lots"]]


def _whole(said: dict[str, str], key: str) -> int:
    try:
        return int(said[key])
    except ValueError:
        remedy = "The page of the job shows it." if key == "job" else "The first is 1."
        raise InputError("a whole number is needed", field=key, value=said[key], remedy=remedy) from None


async def _do(deed: Callable[[], str], look: Callable[[], None]) -> None:
    try:
        frame.allowed("plan")
        frame.told(await asyncio.to_thread(deed))
        look()
    except SaggerError as error:
        frame.refused(error)
