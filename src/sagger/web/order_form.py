"""Fields of an order, laid out; refusals stand at the field they name."""

from __future__ import annotations

from nicegui import ui

from sagger.desk.cards import shelf
from sagger.errors import InputError
from sagger.goods.plain import Table
from sagger.web import widgets
from sagger.web.rows import order_fields
from sagger.web.rows.order_fields import OrderField
from sagger.web.widgets import Field

Fields = dict[str, Field]  # by the place that a refusal names, "[choices], layer"


def table(fields: Fields, name: str, values: Table, place: str = "") -> None:
    """The fields of one table of the order file, added to `fields`.

    Parameters
    ----------
    fields : dict
        Filled here.
    name : str
        order, cards, choices, nesting, part or coupon.
    values : dict
        What the table says now.
    place : str
        As a refusal names it; "" = "[name]".
    """
    cards = shelf.names() if name == "cards" else {}
    rows = order_fields.fields(name, values, place, cards)
    rest = [row for row in rows if not row.first]
    with ui.element("div").classes("fields"):
        fields |= {row.place: _element(row) for row in rows if row.first}
    if rest:
        with ui.expansion("More").classes("more"), ui.element("div").classes("fields"):
            fields |= {row.place: _element(row) for row in rest}


def entries(fields: Fields) -> dict[str, object]:
    """What each field holds, by its place."""
    return {place: element.value for place, element in fields.items()}


def point(fields: Fields, error: InputError) -> None:
    """Show a refusal, and bring the field that it names into view."""
    element = mark(fields, error)
    if element is not None:
        element.run_method("focus")
        ui.run_javascript(f"getHtmlElement({element.id}).scrollIntoView({{ block: 'center' }})")
    widgets.refuse(error)


def mark(fields: Fields, error: InputError) -> Field | None:
    """The field that a refusal names, which shows it then; None if it names none."""
    clear(fields)
    element = fields.get(order_fields.at_refusal(fields, error))
    if element is not None:
        element.props["error"], element.props["error-message"] = True, order_fields.refusal(error)
        element.update()
    return element


def clear(fields: Fields) -> None:
    """No field shows a refusal any more."""
    for element in fields.values():
        element.props(remove="error error-message")


def _element(row: OrderField) -> Field:
    made: Field
    if row.kind == "choice":
        made = widgets.choice(dict(row.options), row.value, row.label)
    elif row.kind == "number":
        number = row.value if isinstance(row.value, int | float) else None
        made = ui.number(label=row.label, value=number, precision=0).props(widgets.FIELD)
    else:
        made = ui.input(label=row.label, value=str(row.value or "")).props(widgets.FIELD)
    made.props["hint"] = row.hint
    return made
