"""A drawing as lines: numbered, each with its limits and faces, and what is not evaluated told."""

from sagger.goods.drawing import Datum, Dimension, Drawing, GeometricTolerance
from sagger.views.plan.fields import table_of
from sagger.views.words import drawn

BORE = Dimension(
    name="", kind="diameter", nominal=35.0, lower=34.8, upper=35.2, unit="mm", fit="", faces=(1, 2), to=(),
    notes=(), evaluated=True, length_needed=0.2 / 35, edge_needed_mm=0.1,
)  # fmt: skip
FIT = Dimension(
    name="seat", kind="diameter", nominal=8.0, lower=None, upper=None, unit="mm", fit="H7", faces=(3,), to=(),
    notes=(), why="its class has no limits here",
)  # fmt: skip
PLACE = GeometricTolerance(
    kind="position", width_mm=0.75, zone="round", datums=("A", "B"),
    modifiers=("maximum material requirement",),
    faces=(1, 2, 3, 4, 5, 6), whole=False, evaluated=True,
)  # fmt: skip
DRAWING = Drawing(
    faces=(),
    dimensions=(BORE, FIT),
    tolerances=(PLACE,),
    datums=(Datum(name="A", faces=(9,)),),
    lost=("a line",),
)


def test_each_line_is_numbered_with_limits_datums_and_faces():
    first, second, third = drawn.lines(DRAWING)
    assert first[:7] == (
        1, "diameter 35 mm", "34.8 to 35.2 mm", "", "lengths 0.57 %, edges 100 µm", "1, 2", "yes",
    )  # fmt: skip
    assert second[:3] == (2, "seat, diameter 8 mm H7", "H7")
    assert third[:4] == (3, "position (round) (maximum material requirement)", "0.75 mm", "A B")
    assert third.faces == "1, 2, 3, 4 and 2 more"


def test_what_is_read_but_not_evaluated_and_what_was_lost_are_said():
    text = list(drawn.text(DRAWING))
    assert text[0] == "drawing: 2 dimensions, 1 geometric tolerance, 1 datum (A); 2 of 3 evaluated"
    assert "  not evaluated: 2 (its class has no limits here)" in text
    assert text[-1] == "  lost: a line"


def test_documents_carry_kind_limits_faces_and_whether_it_is_evaluated():
    document = table_of(Drawing).document(DRAWING)
    assert [row["limits"] for row in document["dimensions"]] == [[34.8, 35.2], None]
    assert document["tolerances"][0]["limits"] == [0.0, 0.75]
    assert document["datums"] == [{"name": "A", "faces": [9], "targets": [], "evaluated": False, "why": ""}]
    for row in (*document["dimensions"], *document["tolerances"]):
        assert {"kind", "limits", "faces", "evaluated"} <= set(row)
