"""A certificate says what the book holds of the pieces of a job, and nothing else."""

import dataclasses
import json

import pypdfium2
import pytest
import trimesh

from job_goods import a_job
from sagger.desk.home import ledger
from sagger.desk.measuring import certifying
from sagger.errors import InputError
from sagger.goods.booked import BookedBox, BookedPiece, FiredPiece, FurnaceRun, PrintedFrom
from sagger.goods.reading import Instrument, Reading
from sagger.ledger import bodies, boxes, jobs, readings
from sagger.views import plan as plan_view

WHO = "A. Person"


def ordered():
    """Twenty blocks of 20 mm within ± 0.2 mm, for a customer with a drawing."""
    job = a_job((trimesh.creation.box((20, 10, 8)),), 3)
    request = dataclasses.replace(job.parts[0].request, drawing_number="D-17", revision="B")
    part = dataclasses.replace(job.parts[0], request=request)
    order = dataclasses.replace(
        job.order, requests=(request,), customer="Harrow Valves (invented)", reference="PO 12"
    )
    return dataclasses.replace(job, order=order, parts=(part,))


def cores():
    """The same of sand, which is not fired."""
    return dataclasses.replace(ordered(), sintered=None)


@pytest.fixture
def shop(tmp_path, monkeypatch, request):
    job = getattr(request, "param", ordered)()
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)
    book = ledger()
    number = jobs.begin(book, jobs.Beginning("blocks", "d1", str(tmp_path / "out"), "0", "2030-01-07T08:00"))
    document = plan_view.document(job, (), (), {}, "0")
    jobs.end(book, number, "done", plan_digest=bodies.put(book, json.dumps(document)))
    return book, number


def booked(book, job, box="B1"):
    pieces = tuple(BookedPiece(label=f"A{n}", part="part-0", number=n) for n in (1, 2, 3))
    boxes.book(book, BookedBox(name=box, powder="steel", pieces=pieces, job=job, facts=PrintedFrom()), WHO)
    stood = tuple(FiredPiece(box=box, piece=each.label) for each in pieces)
    boxes.fire(book, FurnaceRun(name=f"F-{box}", furnace="metal-batch", pieces=stood), WHO)


def length(piece, value_mm, u_mm=0.01, box="B1"):
    return Reading(
        kind="length", state="sintered", value=value_mm * 1e-3, u=u_mm * 1e-3, box=box, piece=piece,
        lot="L-9", axis="x", nominal=20e-3, instrument="calliper 1", unit="mm",
    )  # fmt: skip


def section(letter, heading):
    return next(each for each in letter.sections if each.heading == heading)


def test_each_size_stands_with_its_limits_doubt_and_verdict(shop):
    book, job = shop
    booked(book, job)
    calliper = Instrument(name="calliper 1", kind="length", u=1e-5, u_shared=0.0, calibrated="2029-11-02")
    readings.enter_instrument(book, calliper, WHO)
    readings.add(book, [length("A1", 20.05), length("A2", 20.195), length("A3", 20.3)], WHO)
    letter = certifying.certificate(job)
    rows = section(letter, "Sizes").rows
    assert [row[3:] for row in rows] == [
        ("19.800 to 20.200", "20.050", "± 0.020", "conforms"),
        ("19.800 to 20.200", "20.195", "± 0.020", "undecided, inside with 69 %"),
        ("19.800 to 20.200", "20.300", "± 0.020", "does not conform"),
    ]
    assert section(letter, "Parts").rows == (("part-0", "D-17", "B", "3", "3", "1", "1", "1"),)
    assert section(letter, "Material and run").rows == (("B1", "L-9", "F-B1", "metal-batch"),)
    assert section(letter, "Measured with").rows == (("calliper 1", "length", "2029-11-02"),)
    assert (letter.receiver, dict(letter.facts)["your reference"]) == ("Harrow Valves (invented)", "PO 12")


def test_density_stands_beside_that_of_the_solid_and_what_was_not_measured_is_said(shop):
    book, job = shop
    booked(book, job)
    dense = Reading(
        kind="density", state="sintered", value=7800.0, u=8.0, box="B1", piece="A1", unit="g/cm3",
        feature="ISO 2738",
    )  # fmt: skip
    readings.add(book, [dense], WHO)
    letter = certifying.certificate(job)
    ((_, _, name, value, doubt, relative),) = section(letter, "Density and other properties").rows
    assert (name, value, doubt) == ("density, ISO 2738", "7.800 g/cm3", "± 0.016 g/cm3")
    solid = json.loads(bodies.get(book, jobs.one(book, job).plan_digest))["bed"]["solid_density_g_per_cm3"]
    assert relative == f"{100 * 7.8 / solid:.2f} %"
    silent = " ".join(section(letter, "What this does not certify").lines)
    assert "2 pieces of 3 that were printed" in silent and "Strength and hardness were not measured" in silent
    assert "Density was not measured" not in silent


def test_readings_of_other_jobs_and_voided_ones_are_left_out(shop):
    book, job = shop
    booked(book, job)
    booked(book, None, box="B2")
    readings.add(book, [length("A1", 20.01), length("A2", 20.3), length("A1", 25.0, box="B2")], WHO)
    wrong = next(each.number for each in readings.listed(book) if each.piece == "A2")
    readings.void(book, [wrong], WHO, "read off the wrong piece")
    assert [row[4] for row in section(certifying.certificate(job), "Sizes").rows] == ["20.010"]


@pytest.mark.slow
def test_nothing_is_certified_of_what_nobody_measured(shop):
    book, job = shop
    assert not certifying.can(job)
    booked(book, job)
    with pytest.raises(InputError, match="nothing was measured") as refused:
        certifying.certificate(job)
    assert "sagger readings load" in refused.value.remedy and not certifying.can(job)


def test_the_papers_lie_in_the_folder_and_say_the_same(shop, tmp_path):
    book, job = shop
    booked(book, job)
    readings.add(book, [length("A1", 20.05)], WHO)
    document, lines = certifying.written(job, tmp_path / "papers")
    assert lines[0].endswith(f"1 sizes of job {job}") and document["schema"] == "sagger-letter/1"
    page = (tmp_path / "papers" / "certificate.html").read_text()
    pages = pypdfium2.PdfDocument(tmp_path / "papers" / "certificate.pdf")
    text = " ".join(sheet.get_textpage().get_text_range() for sheet in pages)
    for words in (
        "Certificate of measurement",
        "Harrow Valves",
        "PO 12",
        "D-17",
        "20.050",
        "conforms",
        "L-9",
    ):
        assert words in page and words in " ".join(text.split())


@pytest.mark.parametrize("shop", [cores], indirect=True)
def test_cores_of_sand_are_held_against_their_size_as_printed(shop):
    """20 mm within 0.2 mm, printed 1.17 times as large along x: 23.2 to 23.6 mm."""
    book, job = shop
    booked(book, job)
    green = [dataclasses.replace(length(*row), state="green") for row in (("A1", 23.45), ("A2", 23.7))]
    readings.add(book, green, WHO)
    letter = certifying.certificate(job)
    sizes = section(letter, "Sizes")
    assert [row[3:5] + row[6:] for row in sizes.rows] == [
        ("23.200 to 23.600", "23.450", "conforms"),
        ("23.200 to 23.600", "23.700", "does not conform"),
    ]
    assert "17.00 % along x" in sizes.lines[1]
    assert section(letter, "Parts").rows[0][4:] == ("2", "1", "0", "1")
