"""The order file: what it becomes, and what is refused with which words."""

import json
import re
import tomllib
from pathlib import Path

import jsonschema
import pytest

from sagger.errors import OrderError
from sagger.files import order
from sagger.files.order_form import TABLES
from sagger.goods.order import CardNames

DOCS = Path(__file__).parents[2] / "docs"
EXAMPLE = re.search(r"```toml\n(.*?)```", (DOCS / "order.md").read_text("utf-8"), re.DOTALL)[1]
DEFAULTS = CardNames(powder="p", binder="b", head="h", box="x", oven="o", furnace="f", shop="s")
PLAIN = """[order]
name = "plain"
[cards]
powder = "steel"
[[part]]
file = "bracket.stl"
quantity = 3
tolerance = "0.2 mm"
"""


@pytest.fixture
def read(tmp_path):
    """Reads an order that lies beside a bracket and a lever."""
    for name in ("bracket.stl", "lever.step"):
        (tmp_path / name).write_bytes(b"x")

    def call(text):
        (tmp_path / "order.toml").write_text(text, "utf-8")
        return order.read(tmp_path / "order.toml", DEFAULTS)

    return call


def test_the_documented_example_is_read(read, tmp_path):
    found, cards, files = read(EXAMPLE)
    first, second = found.requests
    assert (first.name, first.rotation_deg, first.quantity) == ("bracket", (90.0, 0.0, 0.0), 40)
    assert (second.name, second.tolerance.kind, second.tolerance.value) == ("lever", "percent", 0.5)
    assert (found.choices.layer_um, found.choices.saturation, found.choices.gap_mm) == (50.0, 0.7, 3.0)
    assert cards.powder == "steel-316l"
    assert files == (tmp_path / "bracket.stl", tmp_path / "lever.step")


def test_the_published_schema_is_current():
    assert (DOCS / "order.schema.json").read_text("utf-8") == order.schema()


@pytest.mark.slow
def test_the_documented_example_fits_the_published_schema():
    schema = json.loads((DOCS / "order.schema.json").read_text("utf-8"))
    jsonschema.validate(tomllib.loads(EXAMPLE), schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(tomllib.loads(EXAMPLE.replace("quantity", "quantitty")), schema)


def test_every_key_stands_in_the_manual():
    for table in TABLES.values():
        for key in table.model_fields:
            assert re.search(rf"(?m)^(\| `)?{key}\b", (DOCS / "order.md").read_text("utf-8")), key


def test_what_is_left_out_has_its_default(read):
    found, cards, _ = read(PLAIN)
    (part,) = found.requests
    assert (part.orientations, part.scale, part.due, part.unit) == ("upright", 1.0, "", "")
    assert (cards.powder, cards.binder, cards.furnace, cards.shop) == ("steel", "b", "f", "s")
    assert found.choices.layer_um is None


def test_a_named_card_counts_and_an_empty_furnace_too(read):
    cards = read(PLAIN.replace('powder = "steel"', 'powder = "sand"\nfurnace = ""\nbox = "big"'))[1]
    assert (cards.furnace, cards.box) == ("", "big")


def test_a_date_may_be_toml_or_text(read):
    for due in ("2027-03-19", '"2027-03-19"'):
        assert read(PLAIN + f"due = {due}\n")[0].requests[0].due == "2027-03-19"


@pytest.mark.parametrize(
    "text, kind, value, grade",
    [
        ("0.2 mm", "mm", 0.2, ""),
        ("50 um", "mm", 0.05, ""),
        ("0.5 %", "percent", 0.5, ""),
        ("ISO 2768-m", "iso2768", 0.0, "m"),
        ("ISO 2768-1 f", "iso2768", 0.0, "f"),
    ],
)
def test_a_tolerance_is_a_length_a_share_or_a_class(read, text, kind, value, grade):
    found = read(PLAIN.replace("0.2 mm", text))[0].requests[0].tolerance
    assert (found.kind, found.value, found.grade) == (kind, value, grade)


def test_how_drops_are_set_may_be_chosen_for_all_and_for_a_part(read):
    found, _, _ = read(EXAMPLE)
    choices, (first, second) = found.choices, found.requests
    assert (choices.bleed_um, choices.depth_um, choices.skin_mm) == (20.0, 50.0, 1.0)
    assert (choices.skin_saturation, choices.core_saturation) == (1.0, 0.6)
    assert (choices.bridge_mm, choices.open_share) == (0.5, 0.01)
    assert (choices.snap, choices.compression) == (False, "")
    assert (first.core_saturation, first.bleed_um, second.core_saturation) == (0.8, None, None)
    assert read(PLAIN + 'bleed = "-30 um"\n')[0].requests[0].bleed_um == -30.0


REFUSED = [
    ("[[part]]", '[choices]\nbleed = "2 mm"\n[[part]]', "bleed", "from -1 mm to 1 mm"),
    ("[[part]]", '[choices]\ndepth = "-1 um"\n[[part]]', "depth", "from 0 mm to 5 mm"),
    ("[[part]]", '[choices]\ncore_saturation = "120 %"\n[[part]]', "core_saturation", "up to 100 %"),
    ("[[part]]", '[choices]\nskin_saturation = "0 %"\n[[part]]', "skin_saturation", "above 0"),
    ("[[part]]", '[choices]\ncompression = "zip"\n[[part]]', "compression", "'g4'"),
    ("[[part]]", '[choices]\nsnap = "yes"\n[[part]]', "snap", "boolean"),
    ("quantity = 3", "quantitty = 3", "quantitty", "Did you mean 'quantity'"),
    ("[cards]", "[crads]", "[crads]", "Did you mean 'cards'"),
    ("quantity = 3", "quantity = 0", "quantity", "greater than or equal to 1"),
    ("quantity = 3", "quantity = 3.5", "quantity", "integer"),
    ("quantity = 3", 'quantity = "3"', "quantity", "integer"),
    ("quantity = 3\n", "", "quantity", "missing"),
    ('tolerance = "0.2 mm"\n', "", "tolerance", "missing"),
    ("0.2 mm", "0,2 mm", "tolerance", "no tolerance"),
    ("0.2 mm", "0.2", "tolerance", "no tolerance"),
    ("0.2 mm", "-1 %", "tolerance", "above 0"),
    ("0.2 mm", "ISO 2768-k", "tolerance", "no tolerance"),
    ("bracket.stl", "gone.stl", "file", "no such file"),
    ("quantity = 3", 'quantity = 3\nunit = "inch"', "unit", "'mm'"),
    ("quantity = 3", "quantity = 3\nturn = [90, 0]", "turn", "at least 3"),
    ("quantity = 3", "quantity = 3\nscale = inf", "scale", "finite"),
    ("quantity = 3", 'quantity = 3\ndue = "2027-13-01"', "due", "this is no date"),
    ("quantity = 3", 'quantity = 3\ndue = "next week"', "due", "Write year, month and day"),
    ('name = "plain"', 'name = "plain"\nstart = "07:00"', "start", "this is no date and time"),
    ("quantity = 3", 'quantity = 3\norientations = "any"', "orientations", "'upright'"),
    ("[[part]]", '[choices]\nlayer = "50 g"\n[[part]]', "layer", "length is needed"),
    ("[[part]]", "[choices]\nlayer = 50\n[[part]]", "layer", "text with a unit"),
    ("[[part]]", '[choices]\nsaturation = "-3 %"\n[[part]]', "saturation", "above 0"),
    ('powder = "steel"', 'binder = "b"', "powder", "missing"),
]


@pytest.mark.parametrize("old, new, field, words", REFUSED)
def test_what_does_not_fit_is_refused_by_name(read, old, new, field, words):
    with pytest.raises(OrderError) as told:
        read(PLAIN.replace(old, new))
    assert told.value.file == "order.toml"
    assert told.value.field.endswith(field)
    assert words in str(told.value)
    assert told.value.remedy


def test_a_part_due_before_the_order_starts_is_refused_at_once(read):
    began = PLAIN.replace('name = "plain"', 'name = "plain"\nstart = "2027-03-10T08:00"')
    with pytest.raises(OrderError, match="before the order starts") as told:
        read(began + 'due = "2027-03-09"\n')
    assert told.value.field == "[[part]] 1, due"
    assert read(began + 'due = "2027-03-10"\n')[0].requests[0].due == "2027-03-10"


def test_two_parts_with_one_name_are_refused(read):
    with pytest.raises(OrderError, match="same name"):
        read(PLAIN + PLAIN[PLAIN.index("[[part]]") :])


@pytest.mark.parametrize("data", [b"name = plain", b"\xff\xfe", b"", b"[order]\nname = 'a'\n"])
def test_what_is_no_order_is_refused(tmp_path, data):
    (tmp_path / "order.toml").write_bytes(data)
    with pytest.raises(OrderError, match=r"order\.toml"):
        order.read(tmp_path / "order.toml", DEFAULTS)


def test_a_missing_order_is_refused(tmp_path):
    with pytest.raises(OrderError, match="cannot be read"):
        order.read(tmp_path / "gone.toml", DEFAULTS)


def test_a_bare_part_file_is_an_order_of_one_within_two_percent(tmp_path):
    found, cards, files = order.single(tmp_path / "a.stl", order.BareRequest(5, "in"), DEFAULTS)
    (part,) = found.requests
    assert (part.file, part.quantity, part.unit) == ("a.stl", 5, "in")
    assert (part.tolerance.kind, part.tolerance.value) == ("percent", 2.0)
    assert (cards, files) == (DEFAULTS, (tmp_path / "a.stl",))


def test_a_bare_part_file_is_checked_like_an_order(tmp_path):
    with pytest.raises(OrderError, match="quantity"):
        order.single(tmp_path / "a.stl", order.BareRequest(0, "mm"), DEFAULTS)


COUPONS = (
    PLAIN
    + """
[[coupon]]
kind = "steps"
places = "nine"
series = 3
[[coupon]]
kind = "cube"
places = [[0.25, 1]]
height = "12 mm"
"""
)


def test_coupons_are_read_with_their_spots(read):
    steps, cube = read(COUPONS)[0].coupons
    assert (steps.kind, len(steps.spots), steps.series) == ("steps", 9, 3)
    assert [(spot.x, spot.y, spot.z_mm) for spot in cube.spots] == [(0.25, 1.0, 12.0)]


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('"steps"', '"ring"', "kind"),
        ('"nine"', '"ten"', "places"),
        ("[[0.25, 1]]", "[[0.25, 1.5]]", "places"),
        ("series = 3", "series = 32", "series"),
        ('"12 mm"', '"-1 mm"', "height"),
    ],
)
def test_coupons_that_cannot_be_are_refused(read, old, new, field):
    with pytest.raises(OrderError, match=field):
        read(COUPONS.replace(old, new))


def test_an_order_for_nothing_is_refused(read):
    with pytest.raises(OrderError, match="nothing is asked for"):
        read(PLAIN[: PLAIN.index("[[part]]")])
