"""A card that is wrong is refused, with file, field, value and remedy."""

from pathlib import Path

import pytest

from sagger import cards
from sagger.cards.read import KINDS, SHIPPED
from sagger.errors import CardError

DENSITY = '[solid_density]\nvalue = "7.95 g/cm3"\nrange = "7.9 to 8.0 g/cm3"\nsource = "memory"'


@pytest.fixture
def refused(tmp_path: Path):
    """Loads a shipped card after one replacement in its text; gives the message."""

    def load(kind: str, name: str, old: str, new: str) -> str:
        folder = tmp_path / KINDS[kind][1]
        folder.mkdir()
        text = (SHIPPED / KINDS[kind][1] / f"{name}.toml").read_text(encoding="utf-8")
        assert old in text
        (folder / f"{name}.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
        with pytest.raises(CardError) as caught:
            cards.load(kind, name, [tmp_path])
        return str(caught.value)

    return load


CASES = {
    "a field of another name": (
        "[solid_density]",
        "[old_density]",
        "no field has this name",
        "solid_density",
    ),
    "no value": ('value = "7.95 g/cm3"\n', "", "needs its value", "solid_density.value"),
    "no source": (
        DENSITY,
        DENSITY.replace('\nsource = "memory"', ""),
        "needs its source",
        "solid_density.source",
    ),
    "an empty source": (DENSITY, DENSITY.replace('"memory"', '" "'), "needs its source", "solid_density"),
    "an unknown source": (
        DENSITY,
        DENSITY.replace('"memory"', '"memry"'),
        "no source has this key",
        "memory",
    ),
    "a wrong standing": (
        'standing = "memory"',
        'standing = "known"',
        "this is no standing",
        "read, measured",
    ),
    "no place": ("where = ", "were = ", "no field has this name", "Nearest: where"),
    "a wrong kind of unit": ("7.95 g/cm3", "7.95 mm", "density is needed", "kg/m3"),
    "an unknown unit": ("7.95 g/cm3", "7.95 g/ccm", "no unit is called", "solid_density"),
    "a number without unit": ('"7.95 g/cm3"', '"7.95"', "a number and a unit are needed", "g/cm3"),
    "a bare number": ('value = "7.95 g/cm3"', "value = 7.95", "needs its value", "solid_density"),
    "a value outside its range": (
        "7.9 to 8.0 g/cm3",
        "8.0 to 8.1 g/cm3",
        "outside its range",
        "8.0 to 8.1 g/cm3",
    ),
    "a range in the other unit": (
        "7.9 to 8.0 g/cm3",
        "7.9 to 8.0 kg/m3",
        "outside its range",
        "solid_density",
    ),
    "a range that runs backwards": ("7.9 to 8.0 g/cm3", "8.0 to 7.9 g/cm3", "runs backwards", "Swap"),
    "a range without end": ("7.9 to 8.0 g/cm3", "7.9 g/cm3", "this is no range", "solid_density.range"),
    "range and u": ('range = "7.9 to', 'u = "1 kg/m3"\nrange = "7.9 to', "both given", "solid_density"),
    "u of another kind": ('range = "7.9 to 8.0 g/cm3"', 'u = "1 mm"', "density is needed", "solid_density.u"),
    "a figure below zero": ("7.95 g/cm3", "-7.95 g/cm3", "more than zero", "solid_density"),
    "a figure without end": ("7.95 g/cm3", "7.95e999 g/cm3", "finite", "solid_density"),
    "an unknown table": ("[packing]", "[pakking]", "no field has this name", "Nearest: packing"),
    "an unknown kind of powder": ('kind = "metal"', 'kind = "iron"', "no powder is of this kind", "ceramic"),
    "hazards that are no list": (
        'hazards = ["metal dust"',
        'hazards = [1, "metal dust"',
        "list of words",
        "[",
    ),
    "sizes that do not rise": ('value = "16 um"', 'value = "40 um"', "must rise", "d50"),
    "a bed without pores": (
        'value = "0.55 -"\nrange = "0.50 to 0.62 -"',
        'value = "1 -"',
        "between 0 and 1",
        "packing",
    ),
    "sand that is sintered": ('kind = "metal"', 'kind = "sand"', "sand is not sintered", "kind"),
    "densities that fall": ('value = "0.98 -"', 'value = "0.90 -"', "must rise", "sintered_density"),
    "a stretch without source": (
        'stage = "debinding"\nsource = "memory"',
        'stage = "debinding"',
        "needs its source",
        "programme[1]",
    ),
    "a stretch without hold": ('hold = "60 min"', 'pause = "60 min"', "no field has this name", "hold"),
    "a stretch in the wrong unit": (
        'rate = "3 K/min"',
        'rate = "3 K"',
        "heating_rate is needed",
        "programme[1].rate",
    ),
    "a stage of its own": ('stage = "debinding"', 'stage = "drying"', "no such stage", "sintering"),
    "no TOML": ("[solid_density]", "[solid_density", "the card is not TOML", "line 5"),
}


@pytest.mark.parametrize("case", CASES)
def test_a_powder_card_is_refused_for(refused, case):
    old, new, what, hint = CASES[case]
    message = refused("powder", "steel-316l", old, new)
    assert message.startswith("steel-316l.toml")
    assert what in message
    assert hint in message


def test_a_field_that_is_missing_is_named(refused):
    text = (SHIPPED / "ovens" / "box-oven.toml").read_text(encoding="utf-8")
    gone = text[text.index("[rate]") :]
    message = refused("oven", "box-oven", gone, "")
    assert message == "box-oven.toml, rate: this field is missing. Add it to the card."


def test_a_figure_is_a_table(tmp_path: Path):
    text = (SHIPPED / "ovens" / "box-oven.toml").read_text(encoding="utf-8")
    (tmp_path / "ovens").mkdir()
    (tmp_path / "ovens" / "box-oven.toml").write_text('rate = "6 cur/h"\n' + text[: text.index("[rate]")])
    with pytest.raises(CardError, match=r"box-oven\.toml, rate: a figure is a table.*Write \[rate\]"):
        cards.load("oven", "box-oven", [tmp_path])


def test_a_drop_outside_its_limits_is_refused(refused):
    message = refused("head", "head-800", 'value = "16 pL"', 'value = "30 pL"')
    assert "between drop_least and drop_most" in message and "30 pL" in message


def test_a_polarity_of_its_own_is_refused(refused):
    assert "black is drop" in refused("head", "head-800", "black is drop", "grey is drop")


def test_a_count_is_whole(refused):
    assert "whole numbers" in refused("head", "head-800", '"2560 nozzles"', '"2560.5 nozzles"')


def test_bits_are_a_whole_number(refused):
    assert "must be a whole number" in refused("head", "head-800", "bits = 1", 'bits = "1"')


def test_text_is_text(refused):
    assert "must be text" in refused("shop", "plain-shop", 'currency = "EUR"', "currency = 978")


def test_binder_shares_are_not_more_than_the_whole(refused):
    message = refused("binder", "water-glycol", '"60 wt%"', '"61 wt%"')
    assert "more than the whole" in message and "1.010" in message


def test_a_binder_for_an_unknown_powder_is_refused(refused):
    assert "no powder is of this kind" in refused("binder", "furan", '["sand"]', '["send"]')


@pytest.mark.parametrize("name", ["steel-316", "../powders/steel-316l", ""])
def test_a_card_that_does_not_exist_is_refused_with_the_nearest(name):
    with pytest.raises(CardError, match="no powder card has this name") as caught:
        cards.load("powder", name)
    assert "steel-316l" in str(caught.value)


def test_a_kind_that_does_not_exist_is_refused():
    with pytest.raises(CardError, match=r"no cards of this kind.*Nearest: powder"):
        cards.names("powders")


def test_a_card_that_is_no_text_is_refused(tmp_path: Path):
    (tmp_path / "shops").mkdir()
    (tmp_path / "shops" / "odd.toml").write_bytes(b"title = \xff\xfe")
    with pytest.raises(CardError, match=r"odd\.toml, line 1: the card is not UTF-8 text"):
        cards.load("shop", "odd", [tmp_path])


LEVEL = '\n[[levels]]\nvalue = "{}"\nsource = "assumed"\nwhere = "here"\nstanding = "assumed"\n'
HEADS = {
    "a first row of its own": ("bits = 1\n", 'bits = 1\nfirst_row = "top"\n', "cannot begin there", "y high"),
    "three bits": ("bits = 1", "bits = 3", "1, 2 or 4 bits", "3"),
    "a nozzle it has not": (
        "bits = 1\n",
        "bits = 1\ndead_nozzles = [3, 2560]\n",
        "no such nozzle",
        "0 to 2559",
    ),
    "nozzles that are no numbers": ("bits = 1\n", 'bits = 1\ndead_nozzles = ["3"]\n', "whole numbers", "[12"),
    "a yes in words": ("bits = 1\n", 'bits = 1\npass_images = "yes"\n', "must be true or false", "yes"),
    "grey without levels": ("bits = 1", "bits = 2", "a drop has 3 sizes", "3 times [[levels]]"),
    "levels for one bit": ("bits = 1\n", "bits = 1\nlevels = [{}]\n", "needs its value", "levels[1]"),
}


@pytest.mark.parametrize("case", HEADS)
def test_a_head_card_is_refused_for(refused, case):
    old, new, what, hint = HEADS[case]
    message = refused("head", "head-800", old, new)
    assert message.startswith("head-800.toml") and what in message and hint in message


def grey(folder, *volumes):
    """A head card of two bits with these levels."""
    text = (SHIPPED / "heads" / "head-800.toml").read_text(encoding="utf-8").replace("bits = 1", "bits = 2")
    (folder / "heads").mkdir()
    (folder / "heads" / "grey.toml").write_text(text + "".join(LEVEL.format(each) for each in volumes))
    return cards.load("head", "grey", [folder])


def test_a_grey_head_says_the_drop_of_each_level(tmp_path):
    head = grey(tmp_path, "5 pL", "10 pL", "16 pL")
    assert [level.printed for level in head.levels] == ["5 pL", "10 pL", "16 pL"]
    assert "levels[2]" in dict(cards.figures(head))


@pytest.mark.parametrize(
    ("volumes", "what"),
    [
        (("5 pL", "10 pL"), "3 sizes"),
        (("9 pL", "5 pL", "16 pL"), "rise"),
        (("5 pL", "9 pL", "15 pL"), "nominal"),
    ],
)
def test_levels_that_do_not_fit_are_refused(tmp_path, volumes, what):
    with pytest.raises(CardError, match=what):
        grey(tmp_path, *volumes)


def test_what_a_head_card_leaves_out_has_its_default():
    head = cards.load("head", "head-800")
    assert (head.first_row, head.dead_nozzles, head.pass_images, head.levels) == ("y low", (), False, ())


@pytest.mark.parametrize(
    ("kind", "name", "old", "new", "what"),
    [
        ("oven", "box-oven", '"60 degC"', '"25 degC"', "open_temperature: the box never cools to this"),
        (
            "binder",
            "water-glycol",
            '"230 degC"',
            '"190 degC"',
            "oven_temperature_most: it must not",
        ),
    ],
)
def test_temperatures_of_a_cure_must_follow_each_other(refused, kind, name, old, new, what):
    assert what in refused(kind, name, old, new)


def test_what_a_card_knows_of_a_cure_may_be_left_out(tmp_path):
    text = (SHIPPED / "ovens" / "box-oven.toml").read_text(encoding="utf-8")
    (tmp_path / "ovens").mkdir()
    (tmp_path / "ovens" / "plain.toml").write_text(text[: text.index("[ramp]")])
    oven = cards.load("oven", "plain", [tmp_path])
    assert (oven.ramp, oven.open_temperature, oven.faces, oven.gas) == (None, None, None, None)


def test_an_oven_programme_may_climb_in_stretches(tmp_path):
    text = (SHIPPED / "binders" / "water-glycol.toml").read_text(encoding="utf-8")
    known = 'source = "assumed", where = "a soak", standing = "assumed"'
    given = {"rate": "1 K/min", "target": "100 degC", "hold": "2 h"}
    rows = [f'{name} = {{ value = "{value}", {known} }}' for name, value in given.items()]
    (tmp_path / "binders").mkdir()
    (tmp_path / "binders" / "wet.toml").write_text("\n".join([text, "[[programme]]", *rows]))
    (stretch,) = cards.load("binder", "wet", [tmp_path]).programme
    assert (stretch.target.value, stretch.hold.value) == (373.15, 7200.0)
