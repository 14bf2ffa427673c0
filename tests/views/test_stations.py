"""What stations do on a day, on paper."""

import pypdfium2
import pytest

from sagger.goods.asked import CellPlan, PlannedBuild
from sagger.views.paper import stations
from sagger.views.words.cell_lines import day_sheet

STATIONS = ["printer 1", "oven", "bench"]


@pytest.fixture(scope="module")
def plan():
    one = PlannedBuild(
        order="lever <b>",
        build="1",
        powder="steel",
        printer="printer 1",
        starts="2030-01-07T08:00",
        printed="2030-01-08T03:00",
        oven="oven",
        heat=0,
        heated_from="2030-01-08T07:00",
        heated_to="2030-01-08T19:00",
        crew="bench",
        bench_from="2030-01-09T07:00",
        emptied="2030-01-09T10:00",
        ready="2030-01-09T10:00",
    )
    return CellPlan(
        stand="s",
        now="2030-01-07T07:00",
        seed=1,
        builds=(one,),
        late=0,
        loads=0,
        heats=1,
        cost=1.0,
        bound=1.0,
        bound_by="",
        orders=(),
    )


def words(pdf):
    return [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)]


def test_a_page_for_each_station_with_its_times(plan):
    html, pdf = stations.sheets(day_sheet(plan, "2030-01-08"), STATIONS, plan, 7)
    printer, oven = words(pdf)
    assert "printer 1" in printer and "03:00" in printer and "runs: lever <b>/1" in printer
    assert "start the heat of lever <b>/1" in oven and "19:00" in oven and "When the day" not in oven
    assert "plan 7" in printer and "Tuesday 2030-01-08" in oven
    assert html.count("<section>") == 2 and "lever &lt;b&gt;/1" in html and "<b>/1" not in html


def test_the_times_can_be_read_at_arms_length(plan):
    """Common practice, no source: 12 pt or more for text, and the time larger."""
    pdf = stations.sheets(day_sheet(plan, "2030-01-07"), STATIONS, plan, 7)[1]
    page = pypdfium2.PdfDocument(pdf)[0].get_textpage()
    text = page.get_text_range()
    for sought, least in (("08:00", 12), ("printer", 20), ("start", 9)):
        _, bottom, _, top = page.get_charbox(text.index(sought) + 1)
        assert top - bottom >= least * 0.5, sought  # of a letter without its room


def test_equal_input_gives_equal_bytes(plan):
    sheet = day_sheet(plan, "2030-01-08")
    assert stations.sheets(sheet, STATIONS, plan, 7) == stations.sheets(sheet, STATIONS, plan, 7)
