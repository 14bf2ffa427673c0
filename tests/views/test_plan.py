"""plan.json: documented, versioned, in the trade's units."""

from __future__ import annotations

import dataclasses
import json
import operator
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pint
import pytest

from sagger.goods.caution import Caution
from sagger.goods.finding import advice, loss
from sagger.goods.job import Job
from sagger.goods.layout import Departure, Pose
from sagger.goods.order import Spot
from sagger.goods.stack import Style, Treatment
from sagger.views import plan
from sagger.views.plan.manual import manual
from sagger.views.plan.schema import schema

DOCS = Path(__file__).parents[2] / "docs"
CAUTION = Caution(
    key="metal dust", step="print", text="It burns.", defer_to="local law", source="hand", standing="memory"
)
OVER = np.array([np.eye(3), [[0, 1, 0], [0, 0, 1], [1, 0, 0]]], float)  # x stands up, y lies along x
WEAK = [("powder", "d50", "16 um", "assumed", "hand")]


@pytest.fixture(scope="module")
def document(job: Job) -> dict[str, Any]:
    return plan.document(job, (CAUTION,), WEAK, {"hand": "By hand, 2027"}, "0.1.0")


def check(document: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator(schema()).validate(document)


@pytest.mark.slow
def test_the_schema_is_a_schema_and_the_document_fits_it(document: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    check(document)
    check(json.loads(json.dumps(document, allow_nan=False)))


@pytest.mark.slow
def test_a_document_with_a_strange_or_missing_key_does_not_fit(document: dict[str, Any]) -> None:
    without = {key: value for key, value in document.items() if key != "quote"}
    for wrong in (document | {"colour": "red"}, without, document | {"schema": "sagger-plan/2"}):
        with pytest.raises(jsonschema.ValidationError):
            check(wrong)


def test_the_papers_match_the_code() -> None:
    assert json.loads((DOCS / "plan.schema.json").read_text()) == schema()
    assert (DOCS / "plan.md").read_text() == manual()


def test_the_first_key_says_what_it_is(document: dict[str, Any]) -> None:
    assert next(iter(document.items())) == ("schema", "sagger-plan/1")
    assert "not a safety assessment" in document["notice"]


def test_the_first_box_is_repeated_at_the_top(document: dict[str, Any]) -> None:
    for room in ("layers", "drops", "binder", "powder", "times", "drying", "cure"):
        assert document[room] == document["boxes"][0][room]
    assert document["layers"]["pitch_um"] == pytest.approx([42.33333333, 42.33333333], rel=1e-9, abs=0)
    assert document["layers"]["thickness_um"] == 50


# The same goods converted by pint, an independent library of units.
CONVERTED = [
    (("drops", "volume_pL"), "dose.drop", "m**3", "picoliter"),
    (("drops", "pore_radius_um"), "dose.pore_radius", "m", "micrometer"),
    (("drops", "capillary_pressure_kPa"), "dose.capillary_pressure", "pascal", "kilopascal"),
    (("binder", "volume_mL"), "dose.binder", "m**3", "milliliter"),
    (("binder", "mass_g"), "dose.binder_mass", "kg", "gram"),
    (("times", "build_h"), "timetable.build", "s", "hour"),
    (("times", "firing_kHz"), "timetable.firing", "hertz", "kilohertz"),
    (("times", "vapour_g_per_h"), "timetable.drying.vapour", "kg/s", "gram/hour"),
    (("times", "ventilation_m3_per_h"), "timetable.drying.ventilation", "m**3/s", "m**3/hour"),
    (("times", "volume_rate_cm3_per_h"), "timetable.volume_rate", "m**3/s", "cm**3/hour"),
    (("drying", "evaporation_g_per_m2_s"), "timetable.drying.flux", "kg/m**2/s", "g/m**2/s"),
    (("drying", "oven_air_m3_per_h"), "timetable.drying.oven_air", "m**3/s", "m**3/hour"),
    (("cure", "oven_temperature_degC"), "cured.oven_temperature", "kelvin", "degC"),
    (("cure", "hold_h"), "cured.hold", "s", "hour"),
]


@pytest.mark.slow
@pytest.mark.parametrize(("keys", "path", "si", "trade"), CONVERTED)
def test_figures_are_converted_as_pint_does(
    document: dict[str, Any], job: Job, keys: tuple[str, str], path: str, si: str, trade: str
) -> None:
    value = operator.attrgetter(path)(job.builds[0])
    expected = pint.UnitRegistry().Quantity(value, si).to(trade).magnitude
    np.testing.assert_allclose(document[keys[0]][keys[1]], expected, rtol=1e-9)


def test_a_placement_brings_the_part_to_green_size_into_the_box(document: dict[str, Any], job: Job) -> None:
    for piece in document["pieces"]:
        corners = job.parts[piece["part"]].shape.vertices
        place = np.array(piece["placement"])
        put = np.column_stack((corners, np.ones(len(corners)))) @ place.T
        assert (put[:, :3].min(axis=0) >= 2.99).all()
        assert (put[:, :3].max(axis=0) <= document["boxes"][0]["size_mm"]).all()
        np.testing.assert_allclose(np.linalg.det(place), np.prod(document["factors"]["k"]), rtol=1e-9)


def test_green_sizes_are_nominal_times_factor(document: dict[str, Any]) -> None:
    for part in document["parts"]:
        ratio = np.array(part["green_extent_mm"]) / part["extent_mm"]
        np.testing.assert_allclose(ratio, document["factors"]["k"], rtol=1e-6)


def test_findings_of_all_steps_are_told_with_their_place(document: dict[str, Any]) -> None:
    looks = [each for each in document["findings"] if each["level"] == "look"]
    assert [(each["station"], each["part"]) for each in looks] == [("intake", 0), ("intake", 1)]
    assert looks[0]["at_mm"] == [1, 2, 3]


@pytest.mark.slow
def test_a_lone_piece_has_no_gap_to_another(job: Job) -> None:
    layout = dataclasses.replace(job.builds[0].layout, least_gap_mm=float("inf"))
    alone = dataclasses.replace(job, builds=(dataclasses.replace(job.builds[0], layout=layout),))
    document = plan.document(alone, (), [], {}, "0")
    assert document["boxes"][0]["least_gap_mm"] is None
    check(document)


@pytest.mark.slow
def test_sand_has_no_furnace(job: Job) -> None:
    cell = dataclasses.replace(job.cell, furnace=None)
    document = plan.document(dataclasses.replace(job, cell=cell, sintered=None), (), [], {}, "0")
    assert document["sinter"] is None
    assert "furnace" not in {card["kind"] for card in document["cards"]}
    check(document)


def test_a_refused_job_has_parts_and_findings_only(job: Job) -> None:
    document = plan.refused(job.order, job.parts, "0")
    check(document)
    assert document["state"] == "refused"
    assert "boxes" not in document
    assert document["parts"][0]["green_extent_mm"] is None


def test_one_part_alone_reads_as_in_the_plan(document: dict[str, Any], job: Job) -> None:
    alone = plan.part(job.parts[1], 1)
    assert alone | {"green_extent_mm": None} == document["parts"][1] | {"green_extent_mm": None}


def test_the_furnace_curve_keeps_both_ends(document: dict[str, Any], job: Job) -> None:
    assert job.sintered
    curve = document["sinter"]["curve"]
    assert len({len(values) for values in curve.values()}) == 1
    np.testing.assert_allclose(curve["time_h"][-1], job.sintered.time[-1] / 3600, rtol=1e-9)
    np.testing.assert_allclose(curve["relative_density_percent"][-1], 97, rtol=1e-9)


def with_build(job: Job, **changes: Any) -> dict[str, Any]:
    """plan.json of the job with parts of its box changed."""
    build = dataclasses.replace(job.builds[0], **changes)
    return plan.document(dataclasses.replace(job, builds=(build,)), (), [], {}, "0")


def test_layers_of_equal_time_are_told_together_counted_from_1(job: Job) -> None:
    times = dataclasses.replace(job.builds[0].timetable, by_layer=np.array([20.0, 20.0, 25.0, 20.0]))
    told = with_build(job, timetable=times)["times"]["layer_times"]
    assert [(each["first"], each["last"], each["layer_s"]) for each in told] == [
        (1, 2, 20),
        (3, 3, 25),
        (4, 4, 20),
    ]
    none = dataclasses.replace(times, by_layer=np.zeros(0))
    assert with_build(job, timetable=none)["times"]["layer_times"] == []


def test_one_treatment_holds_for_every_part(job: Job) -> None:
    style = Style(treatments=(Treatment(bleed_mm=0.02, skin=0.9),))
    told = with_build(job, stack=dataclasses.replace(job.builds[0].stack, style=style))["layers"][
        "treatments"
    ]
    assert [each["part"] for each in told] == [0, 1]
    assert {(each["bleed_um"], each["skin_saturation_percent"]) for each in told} == {(20, 90)}


def test_what_is_only_roughly_known_is_told_roughly(job: Job) -> None:
    pose = Pose(part=0, turn=0, pieces=1, height_mm=1 / 3, steps=1 / 3, carried=1 / 3)
    (told,) = with_build(job, layout=dataclasses.replace(job.builds[0].layout, poses=(pose,)))["boxes"][0][
        "poses"
    ]
    assert (told["steps"], told["carried_percent"], told["height_mm"]) == (0.3333, 33.3, 0.3333333333)


def test_the_order_of_leaving_is_that_of_the_departures(job: Job) -> None:
    left = tuple(Departure(part=part, number=number, way=(0, 0, 1)) for part, number in ((1, 2), (0, 1)))
    told = with_build(job, layout=dataclasses.replace(job.builds[0].layout, departures=left))
    assert told["boxes"][0]["lift_order"] == [[1, 2], [0, 1]]


def test_a_tolerance_is_told_in_its_own_unit(document: dict[str, Any]) -> None:
    told = [part["tolerance"] for part in document["parts"]]
    assert [(each["plus_minus_mm"], each["plus_minus_percent"]) for each in told] == [
        (0.2, None),
        (None, 0.5),
    ]


def test_held_spots_are_shares_along_x_and_y_and_a_height(job: Job) -> None:
    request = dataclasses.replace(job.parts[0].request, held=(Spot(x=0.25, y=0.75, z_mm=3.0),))
    assert plan.part(dataclasses.replace(job.parts[0], request=request))["held"] == [[0.25, 0.75, 3.0]]


def test_green_size_goes_by_the_parts_own_axes_however_it_is_printed(job: Job) -> None:
    green = job.builds[0].layout.greens[0]  # k 1.17, 1.18, 1.20
    lying = dataclasses.replace(
        green, part=dataclasses.replace(green.part, turns=OVER), maps=green.factors.k[:, None] * OVER
    )
    expected = np.array(green.part.extent_mm) * [1.20, 1.17, 1.18]
    np.testing.assert_allclose(plan.green_extent(lying, 1), expected, rtol=1e-9)


def test_sources_are_told_by_key_in_order(job: Job) -> None:
    document = plan.document(job, (), [], {"b": "B", "a": "A"}, "0")
    assert list(document["sources"].items()) == [("a", "A"), ("b", "B")]


def test_findings_of_a_part_stand_heaviest_first_in_the_plan(job: Job) -> None:
    """The page lists them as the plan has them, so a way to lose pieces stands above what could wait."""
    light, heavy = advice("free sheet", "A sheet was left out."), loss("handling", "No brush.")
    part = dataclasses.replace(job.parts[0], findings=(light, heavy))
    made = plan.document(dataclasses.replace(job, parts=(part, *job.parts[1:])), (), WEAK, {}, "0")
    own = [row["what"] for row in made["findings"] if row["station"] == "intake" and row["part"] == 0]
    assert own == ["handling", "free sheet"]
