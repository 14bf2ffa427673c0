"""Laws against print: reads every tests/published/*.toml and asks each law what the page says.

One file, one or more laws. A case is

    law = "sagger.physics.drops.wetting:saturation"     # at the top for the whole file, or in a case
    [[case]]
    source   = "author, title, year, or "hand" with the sum under `where`"
    where    = "page, table, section"
    standing = "read"                             # of what is expected, one of STANDINGS
    given    = { drop = "30 pL", pitch = ["42.3 um", "42.3 um"], packing = 0.55 }
    expect   = { saturation = "0.745 -" }         # text as printed: half its last digit is the tolerance
    slack    = 0.02                               # optional, with `because`: relative if a number,
    because  = "why print and law may differ"     # absolute if text with a unit ("0.3 um")

Given text that begins with a number is read by its unit; other text, numbers and flags pass as they
are. A table with `of = "module:name"` is built first by calling that name with the rest; with `part = "0"`
as well it is one part of what that answers. What is expected may be text without a number (a class), or a
list. A law that answers with several things is asked by field or key, or by place ("0", "1", …); one that
answers with a bare number, whatever the key is called.
"""

from __future__ import annotations

import importlib
import re
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from sagger import units

HERE = Path(__file__).parent
STANDINGS = (
    "measured",  # somebody measured it, and it is printed so
    "read",  # it stands in the source, and was read there
    "second hand",  # it was read where somebody quotes the source: public code, tests, copies of tables
    "worked",  # by hand, or in a program written apart from this one
    "memory",  # from the trade's literature, not looked up
)
NUMBER = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s+(\S+)\s*$")


def law_named(name):
    module, _, path = name.partition(":")
    thing = importlib.import_module(module)
    for step in path.split("."):
        thing = getattr(thing, step)
    return thing


def given_value(value):
    """What the law is handed for one entry of `given`."""
    if isinstance(value, dict):
        rest = {key: given_value(entry) for key, entry in value.items() if key not in ("of", "part")}
        built = law_named(value["of"])(**rest) if "of" in value else rest
        return picked(built, value["part"]) if "part" in value else built
    if isinstance(value, list):
        return [given_value(entry) for entry in value]
    if isinstance(value, str) and (found := NUMBER.match(value)):
        return units.read(value, units.unit(found[2]).kind)
    return value


def picked(answer, key):
    """The part of an answer that is called `key`; the answer itself if it has no parts."""
    if isinstance(answer, dict):
        return answer[key]
    if key.isdigit():
        return answer[int(key)]
    return getattr(answer, key, answer)


def half_digit(text):
    """Half a unit of the last printed digit, in the printed unit."""
    return 0.5 * 10.0 ** Decimal(text).as_tuple().exponent


def complaint(found, printed, slack):
    """What is wrong with `found` [SI] against the printed text; empty if nothing."""
    if isinstance(printed, list):
        if len(found) != len(printed):
            return f"{len(found)} values, {len(printed)} printed"
        pairs = zip(found, printed, strict=True)
        return "; ".join(filter(None, (complaint(one, text, slack) for one, text in pairs)))
    match = NUMBER.match(printed)
    if match is None:
        return "" if str(found) == printed else f"got {found!r}, printed {printed!r}"
    word = match[2]
    got, want, allowed = units.into(float(found), word), float(match[1]), half_digit(match[1])
    if isinstance(slack, str):
        allowed = units.span(slack, units.unit(word).kind) / units.unit(word).factor
    elif slack is not None:
        allowed = slack * abs(want)
    if abs(got - want) <= allowed * (1 + 1e-9):
        return ""
    return f"got {got:.9g} {word}, printed {printed} (allowed {allowed:.3g})"


def complaints(case):
    answer = law_named(case["law"])(**{key: given_value(value) for key, value in case["given"].items()})
    return [
        f"{key}: {wrong}"
        for key, printed in case["expect"].items()
        if (wrong := complaint(picked(answer, key), printed, case.get("slack")))
    ]


def read_cases():
    for path in sorted(HERE.glob("*.toml")):
        page = tomllib.loads(path.read_text(encoding="utf-8"))
        for number, entry in enumerate(page["case"], start=1):
            case = {"law": page.get("law"), **entry}
            yield pytest.param(case, id=f"{path.stem}-{number}-{case['law'].partition(':')[2]}")


CASES = list(read_cases())


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_law_agrees_with_print(case):
    assert complaints(case) == [], f"{case['source']}, {case['where']}"


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_case_says_where_it_comes_from(case):
    assert case["source"] and case["where"] and case["expect"]
    assert case["standing"] in STANDINGS
    assert ("slack" in case) == ("because" in case)


@pytest.mark.parametrize(
    ("printed", "good"),
    [
        ("2.47e-12 m2", True),
        ("2.469e-12 m2", True),
        ("2.5e-12 m2", True),
        ("2.46e-12 m2", False),
        ("2.48e-12 m2", False),
        ("2.67e-12 m2", False),
        ("2.4 um2", None),
    ],
)
def test_wrong_last_digit_is_refused(printed, good):
    if good is None:
        with pytest.raises(units.InputError):
            complaint(2.469e-12, printed, None)
    else:
        assert (complaint(2.469e-12, printed, None) == "") is good


def test_wrong_class_list_and_slack_are_refused():
    assert complaint("fair", "good", None)
    assert not complaint("fair", "fair", None)
    assert complaint([1.0, 2.0], ["1.0 -", "2.2 -"], None)
    assert complaint([1.0], ["1.0 -", "2.0 -"], None)
    assert complaint(1.03, "1.00 -", 0.02) and not complaint(1.03, "1.00 -", 0.04)
    assert complaint(1.03e-6, "1.00 um", "20 nm") and not complaint(1.03e-6, "1.00 um", "40 nm")
