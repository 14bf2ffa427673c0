"""What a person reads at unpacking, debinding and the mould."""

import dataclasses

from sagger.goods.caution import Caution
from sagger.goods.debinding import Debinding, DebindingCourse
from sagger.goods.depowdering import Cleaning
from sagger.goods.figure import Figure
from sagger.goods.job import Job
from sagger.goods.mould import Contraction, Mould
from sagger.views.words import summary
from sagger.views.words.steps import steps

COURSE = DebindingCourse(time=18_000.0, overpressure=1200.0, hottest=690.0, loss=1e-3, gone=1.0)
QUICKER = dataclasses.replace(COURSE, time=10_800.0, overpressure=1100.0)


def told(job: Job, name: str, cautions: tuple[Caution, ...] = ()) -> str:
    (step,) = [each for each in steps(job, job.builds[0], cautions) if each.name == name]
    return "\n".join(step.settings)


def debinding(job: Job, proposed: DebindingCourse | None) -> Debinding:
    assert job.sintered
    return Debinding(
        part=1,
        wall=0.02,
        binder=0.01,
        allowed=10e3,
        planned=COURSE,
        planned_u=400.0,
        wall_most=0.06,
        rate_limit=0.1,
        rate_limit_u=0.04,
        limits=(),
        lag=12.0,
        proposal=job.sintered.programme[:1] if proposed else (),
        proposed=proposed,
        bounds="pressure up to 1.2 kPa",
        standing="assumed",
    )


def figure(printed: str, value: float, source: str) -> Figure:
    return Figure(value=value, u=0.0, printed=printed, source=source, where="Table 1", standing="read")


def test_unpacking_says_what_each_part_bears_what_stays_and_what_to_beware_of(job: Job) -> None:
    made = [
        Cleaning(
            part=0, pieces=2, means="air, no brush", trapped=0.01, pockets=0.005, slimness=14.0, openings=1
        ),
        Cleaning(part=1, pieces=2, means="brush and air", trapped=0.0, pockets=0.0, slimness=0.0, openings=0),
    ]
    emptied = dataclasses.replace(
        job.builds[0].depowdering, cleanings=tuple(made), trapped=0.02, pockets=0.01
    )
    build = dataclasses.replace(job.builds[0], depowdering=emptied)
    dust = Caution(key="metal dust", step="print", text="t", defer_to="d", source="s", standing="read")
    words = told(dataclasses.replace(job, builds=(build,)), "Depowder", (dust,))
    assert "A: air, no brush; B: brush and air" in words
    assert "20.0 g stay in hollows and sinter" in words and "in A, is 14 widths long with 1 opening" in words
    assert "cautions below: metal dust" in words


def test_debinding_is_told_beside_its_proposal_with_both_times_and_pressures(job: Job) -> None:
    fired = dataclasses.replace(job.sintered, debinding=debinding(job, QUICKER))
    one = dataclasses.replace(job, sintered=fired)
    words = told(one, "Debind and sinter")
    assert "debinding takes 5 h: the 20.0 mm wall of B sees 1.2 kPa (u 0.40; 10.0 allowed)" in words
    assert "proposal, not set: debinding in 3 h at 1.1 kPa" in words
    assert any(
        line.startswith("debind: 5 h, 1.2 kPa") and "3 h would do" in line for line in summary.lines(one)
    )


def test_without_a_proposal_only_the_programme_is_told(job: Job) -> None:
    fired = dataclasses.replace(job.sintered, debinding=debinding(job, None), proposal=None)
    words = told(dataclasses.replace(job, sintered=fired), "Debind and sinter")
    assert "debinding takes 5 h" in words and "proposal" not in words


def test_the_foundry_reads_both_contractions(job: Job) -> None:
    cast = Contraction(
        alloy="grey iron",
        used=figure("0.781 %", 0.00781, "one book"),
        other=figure("1.0 %", 0.01, "another"),
        apart_mm=0.33,
    )
    mould = Mould(
        contraction=cast,
        fineness=93.2,
        basis="sieve curve of lot S7",
        permeability=70.0,
        permeability_u=28.0,
        saturation=0.05,
        resin=0.0123,
        ignition=0.0151,
        ignition_u=0.0009,
        standing="memory",
        findings=(),
    )
    from_card = dataclasses.replace(job.factors, origin="casting contraction")
    sand = dataclasses.replace(job, sintered=None, mould=mould, factors=from_card)
    words = told(sand, "Mould")
    assert "printed larger for grey iron by 0.781 % (one book, read); another has 1.0 %, 0.33 mm" in words
    assert "fineness 93 AFS (sieve curve of lot S7), permeability 70 AFS (u 28)" in words
    assert "loss on ignition about 1.51 % (u 0.09 %; memory figures)" in words
    own = dataclasses.replace(sand, factors=dataclasses.replace(job.factors, origin="readings"))
    assert "factors from readings; grey iron contracts by 0.781 %" in told(own, "Mould")
