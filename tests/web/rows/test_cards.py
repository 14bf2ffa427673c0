"""Cards and their lines: whose they are, what their figures rest on."""

from page_text import links, words
from sagger.desk.cards.shelf import CardDocument, FigureLine
from sagger.web.rows import cards as rows

FIGURE = {
    "value": "7.9 g/cm3",
    "range": "7.8 to 8.0 g/cm3",
    "standing": "memory",
    "source": "book",
    "where": "p. 2",
}


def told(head, row):
    return dict(zip(head, map(words, row), strict=True))


def test_a_card_tells_how_many_of_its_figures_are_weak():
    words_of_each = ("memory", "read", "assumed", "memory")
    figures = tuple(FigureLine("d50", "16 um", word, "book", "") for word in words_of_each)
    card = CardDocument(kind="powder", name="steel", title="an invented steel", figures=figures)
    row = rows.card_row("powder", "steel", card, True)
    assert told(rows.HEAD, row) == {
        "Card": "steel", "What it is": "an invented steel", "Whose": "the shop's own", "from memory": "2",
        "assumed": "1",
    }  # fmt: skip
    assert links(row[0]) == {"steel": "/cards/powder/steel"}
    assert rows.card_row("powder", "steel", card, False)[2] == "shipped"


def test_a_card_that_cannot_be_read_says_why():
    name, why, state, *_ = rows.refused_row("steel", ValueError("no unit"))
    assert (name, why, words(state)) == ("steel", "no unit", "refused")


def test_a_line_tells_its_figure_and_what_it_rests_on():
    row = rows.line_row("powder", "steel", "solid_density", FIGURE, True)
    assert told(rows.LINES_HEAD, row) == {
        "Line": "solid density", "Value": "7.9 g/cm³ m", "Range or ±": "7.8 to 8.0 g/cm³",
        "Standing": "memory", "Source": "book", "Where": "p. 2",
    }  # fmt: skip
    assert links(row[0]) == {"solid density": "/cards/powder/steel?line=solid_density"}


def test_an_uncertainty_stands_where_there_is_no_range():
    without = {key: value for key, value in FIGURE.items() if key != "range"} | {"u": "0.1 g/cm3"}
    assert rows.line_row("powder", "steel", "solid_density", without, True)[2] == "± 0.1 g/cm³"


def test_a_plain_word_has_no_standing():
    row = rows.line_row("powder", "steel", "castings.1.name", {"value": '["iron", "steel"]'}, False)
    assert tuple(map(words, row)) == ("castings, 1, name", "iron, steel", "", "", "", "")


def test_whose_card_it_is_is_said():
    assert words(rows.whose(True)).startswith("The shop's own copy.")
    assert words(rows.whose(False)).startswith("Shipped;")
    assert rows.standings(("memory",)) == {"memory": "memory: from memory, not looked up"}
