"""What a person is told at the end."""

from __future__ import annotations

import dataclasses

from sagger.goods.finding import Finding, advice, loss, stop
from sagger.goods.job import Job
from sagger.views.words import summary


def test_it_answers_in_about_fifteen_lines(job: Job) -> None:
    said = summary.lines(job)
    assert len(said) <= 18
    whole = "\n".join(said)
    for word in (
        "4 pieces of 2 parts in 1 box",
        "x 1.1700 (u 0.0020)",
        "348 layers of 50.0 µm",
        "97.0 %",
        "20.00",
    ):
        assert word in whole


def test_only_chances_below_95_percent_are_told(job: Job) -> None:
    told = [line for line in summary.lines(job) if line.startswith("chance")]
    assert told == [
        "chance below 95 %: A part-0: z 8.00 mm 90.0 %",
        "chance below 95 %: B part-1: z 12.00 mm 90.0 %",
    ]


def test_the_last_lines_tell_chance_count_price_and_date(job: Job) -> None:
    *_, one, helps, whole, sure = summary.lines(job)
    assert one == (
        "B part-1: met by 83 % of pieces (lots differ: 31 to 98 %); "
        "2 started hold 2 good ones in 60 % of orders, 1.5 on average; "
        "start 4 for 2 good in 95 of 100 orders; 20.00 EUR per good piece"
    )
    assert helps == "B part-1: measure 5 coupons first, and 96 % of pieces would be good, start 3"
    assert whole == "order 100.00 EUR, ready 2027-03-02 06:00 by planned hours, due 2027-03-05"
    told = (
        "every part has as many good pieces as asked in 36 % of orders, "
        "in 81 % after a second start for those missing; "
    )
    assert sure == f"{told}no date holds in 95 of 100 orders, even with a second start"
    quote = dataclasses.replace(job.quote, sure_ready="2027-03-09T08:00")
    *_, sure = summary.lines(dataclasses.replace(job, quote=quote))
    assert sure == f"{told}ready by 2027-03-09 08:00 in 95 of 100 orders"


def test_what_boxes_share_is_told_once_with_the_worst_of_them(job: Job) -> None:
    builds = []
    for number, value in ((1, 3.0), (2, 9.0)):
        found = Finding(level="look", what="vapour", text=f"{value} g/h", value=value)
        times = dataclasses.replace(job.builds[0].timetable, findings=(found,))
        layout = dataclasses.replace(job.builds[0].layout, number=number)
        builds.append(dataclasses.replace(job.builds[0], timetable=times, layout=layout))
    said = summary.lines(dataclasses.replace(job, builds=tuple(builds)))
    assert [line for line in said if "vapour" in line] == ["LOOK vapour (box 1, box 2): 9.0 g/h"]


def test_many_boxes_are_summed_up(job: Job) -> None:
    said = summary.lines(dataclasses.replace(job, builds=job.builds * 7))
    assert sum(line.startswith("box ") for line in said) == 3 * summary.BOXES_MOST
    assert "3 more boxes: 1 044 layers, see plan.json" in said


def test_sand_has_no_line_on_sintering(job: Job) -> None:
    assert any(line.startswith("sinter") for line in summary.lines(job))
    assert not any(
        line.startswith("sinter") for line in summary.lines(dataclasses.replace(job, sintered=None))
    )


def test_a_check_tells_findings_with_their_remedy_and_counts_the_rest(job: Job) -> None:
    said = summary.check_lines(job.parts[:1])
    assert said[0].startswith("A part-0: 20.00 × 10.00 × 8.00 mm, 1.60 cm³")
    assert said[1:] == [
        "  LOOK thin wall: A wall of 0.8 mm is near the limit of 0.7 mm. Handle with care.",
        "  ok: 1 check passed",
    ]


def test_a_check_tells_the_heaviest_finding_first_whatever_came_first(job: Job) -> None:
    light, heavy = advice("free sheet", "A sheet was left out."), loss("handling", "No brush.")
    part = dataclasses.replace(job.parts[0], findings=(light, heavy, stop("too big for box", "Too long.")))
    told = [line.split(":")[0].strip() for line in summary.check_lines((part,))[1:4]]
    assert told == ["STOP too big for box", "LOOK handling", "LOOK free sheet"]
