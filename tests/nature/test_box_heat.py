"""Heat and cure in a packed box: against the exact series, textbooks, other integrators, and itself."""

from math import exp, inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import expm

import exact_block
from sagger.physics.heat import bed_fit, conduction
from sagger.physics.heat.box_heat import CuringBox, Programme, all_cured, cure, reached
from sagger.physics.heat.box_heat_grid import BoxWall, Face, HeatedBed, Material, grid
from sagger.physics.heat.box_heat_kinetics import CureKinetics, degree, equivalent_needed, first_order_rate
from sagger.physics.heat.box_heat_march import factored, march, step

pytestmark = pytest.mark.slow

STEEL_BED, PIECE = Material(0.2, 2.385e6), Material(0.6, 2.7e6)  # W/mK, J/m3K
START, OVEN, TARGET = 298.15, 473.15, 453.15
PHENOLIC = CureKinetics(49.6e3, TARGET, first_order_rate(3600.0))
HOUR = 3600.0
IN_OVEN, SHUT = Face(20.0), Face(0.0)
STEEL, PLATE = BoxWall(0.003, Material(15.0, 4.0e6)), BoxWall(0.010, Material(150.0, 2.4e6))
BOARD = BoxWall(0.010, Material(0.1, 5e5))


def even(length, count):
    return np.full(count, length / count)


def bare(shape, sides, powder=STEEL_BED, start=START):
    """A bed of one material; every voxel counts as a piece."""
    return HeatedBed(np.ones(shape), tuple(map(even, sides, shape)), powder, powder, start)


def nested(shape=(12, 9, 8), sides=(0.12, 0.09, 0.08), seed=3):
    """A bed with a few blocks in it."""
    parts, rng = np.zeros(shape), np.random.default_rng(seed)
    for _ in range(4):
        low = [int(rng.integers(1, n - 3)) for n in shape]
        parts[low[0] : low[0] + 3, low[1] : low[1] + 2, low[2] : low[2] + 2] = rng.uniform(0.3, 1.0)
    return HeatedBed(parts, tuple(map(even, sides, shape)), STEEL_BED, PIECE, START)


def held(hours, kelvin=OVEN):
    return Programme((0.0, hours * HOUR), (kelvin, kelvin))


def heat_stored(bed, faces, run):
    """Heat that the bed took up [J]; only right without walls."""
    return (grid(bed, faces).capacity * (run.temperature - bed.start)).sum()


EIGHTH = (SHUT, IN_OVEN, SHUT, IN_OVEN, SHUT, IN_OVEN)  # three planes of symmetry
BLOCK = conduction.Block((0.4, 0.25, 0.25), 0.2, 2.385e6, 20.0, START, OVEN)


@pytest.fixture(scope="module")
def eighth():
    """One eighth of 400 x 250 x 250 mm, with the history of its innermost voxel."""
    return cure(
        CuringBox(bare((24, 24, 24), (0.2, 0.125, 0.125)), EIGHTH, PHENOLIC), held(32), [(0.0, 0.0, 0.0)]
    )


def test_core_of_a_uniform_box_follows_the_exact_series_within_a_thousandth(eighth):
    core = [side / 2 * (1 - 1 / 48) for side in BLOCK.sides]
    exact = exact_block.temperature(BLOCK, core, eighth.times[1:])
    np.testing.assert_allclose(eighth.at[0, 1:], exact, rtol=0, atol=1e-3 * (OVEN - START))


def test_core_of_a_uniform_box_is_warm_and_cured_when_the_exact_series_says(eighth):
    warm = conduction.time_to_temperature(BLOCK, conduction.core(BLOCK), TARGET)
    cured = exact_block.cure_time(BLOCK, conduction.core(BLOCK), HOUR, PHENOLIC.energy, TARGET)
    np.testing.assert_allclose(reached(eighth.times, eighth.coldest, TARGET), warm, rtol=2e-3)
    np.testing.assert_allclose(eighth.cured_after, cured, rtol=2e-3)
    assert eighth.last == (0, 0, 0) and eighth.corner == (23, 23, 23)


@pytest.mark.parametrize(
    ("sides", "hours"), [((0.16, 0.065, 0.065), 3.05), ((0.4, 0.25, 0.25), 17.72), ((0.8, 0.5, 0.4), 42.86)]
)
def test_core_of_a_box_of_phenolic_is_cured_when_another_program_says(sides, hours):
    # worked in a program apart from this one, along the slab series
    bed = bare((16, 16, 16), tuple(side / 2 for side in sides))
    run = cure(CuringBox(bed, EIGHTH, PHENOLIC), held(3 * hours), until=all_cured(bed, PHENOLIC, START))
    np.testing.assert_allclose(run.cured_after / HOUR, hours, rtol=5e-3)


def test_slab_of_biot_1_at_fourier_1_is_as_the_textbook_has_it():
    # Incropera et al., table 5.1: zeta 0.8603, C 1.1191; middle plane, one term
    bed = bare((1, 1, 80), (1.0, 1.0, 0.1), Material(2.0, 2e6))
    fourier_1 = 0.1**2 / 1e-6
    run = cure(
        CuringBox(bed, (SHUT,) * 5 + (Face(20.0),), PHENOLIC), held(fourier_1 / HOUR), [(0.5, 0.5, 0.0)]
    )
    left = (OVEN - run.at[0, -1]) / (OVEN - START)
    np.testing.assert_allclose(left, 1.1191 * exp(-(0.8603**2)), rtol=5e-4)


def test_steady_flow_through_layers_is_that_of_resistances_in_series():
    # Incropera et al., section 3.1: 1/h + L/k + L/k + 1/h
    wall = BoxWall(0.02, Material(0.05, 1e5))
    faces = (SHUT,) * 4 + (Face(25.0, 400.0, wall), Face(10.0, 300.0))
    bed = bare((1, 1, 40), (1.0, 1.0, 0.1), Material(0.2, 1e5), 300.0)
    run = cure(CuringBox(bed, faces, PHENOLIC), held(500, 300.0), [(0.5, 0.5, 0.0)])
    flow = 100 / (1 / 25 + 0.02 / 0.05 + 0.1 / 0.2 + 1 / 10)
    first = 400 - flow * (1 / 25 + 0.02 / 0.05 + 0.00125 / 0.2)
    np.testing.assert_allclose(run.at[0, -1] - 300, first - 300, rtol=1e-4)


def test_block_that_conducts_well_warms_as_a_lump():
    # Incropera et al., section 5.1, Biot number 5e-4
    bed = bare((4, 4, 4), (0.1, 0.1, 0.1), Material(400.0, 3e6))
    run = cure(CuringBox(bed, (Face(4.0),) * 6, PHENOLIC), held(3), allowed=0.01)
    lump = OVEN - (OVEN - START) * np.exp(-4.0 * 0.06 / (3e6 * 1e-3) * run.times)
    np.testing.assert_allclose(run.coldest, lump, atol=0.05, rtol=0)


def error_in_space(count):
    """At the middle of a box of count^3 voxels after 10,000 s, stepped finely [K]."""
    block = conduction.Block((0.1, 0.1, 0.1), 0.2, 2e6, inf, START, OVEN)
    bed, after = bare((count,) * 3, block.sides, Material(0.2, 2e6)), 10_000.0
    run = cure(CuringBox(bed, (Face(inf),) * 6, PHENOLIC), held(after / HOUR), [(0.05,) * 3], allowed=2e-3)
    return run.at[0, -1] - exact_block.temperature(block, conduction.core(block), [after])[0]


def test_a_third_of_the_voxel_leaves_a_ninth_of_the_error():
    coarse, fine = error_in_space(9), error_in_space(27)
    assert 8 < coarse / fine < 10


def stepped(box, steps, end=4000.0):
    """Temperatures after `steps` equal steps under an oven that rises steadily."""
    factors, warm = factored(box, end / steps), np.full(box.capacity.shape, START)
    for n in range(steps):
        low, high = ((START + 100 * m / steps,) * 2 for m in (n, n + 1))
        warm, _ = step(box, factors, warm, (low,) * 3, (high,) * 3)
    return warm


def test_half_the_step_leaves_a_fourth_of_the_error():
    box = grid(nested(), (IN_OVEN,) * 6)
    coarse, middle, fine = (stepped(box, steps) for steps in (50, 100, 200))
    ratio = np.linalg.norm(coarse - middle) / np.linalg.norm(middle - fine)
    assert 3.9 < ratio < 4.1


def matrix(box):
    """The same box as one dense matrix, put together voxel by voxel: heat flow [W] per temperature [K]."""
    number = np.arange(box.capacity.size).reshape(box.capacity.shape)
    flow = np.zeros((number.size,) * 2)
    for axis in range(3):
        low, high = (np.delete(number, end, axis).ravel() for end in (-1, 0))
        for one, two, g in zip(low, high, box.between[axis].ravel(), strict=True):
            flow[[one, one, two, two], [two, one, one, two]] += [g, -g, g, -g]
    outward = np.zeros(number.size)
    for axis in range(3):
        for end, plane in zip((0, -1), box.outward[axis], strict=True):
            np.add.at(outward, np.take(number, end, axis).ravel(), plane.ravel())
    return flow - np.diag(outward), outward


def test_walled_box_agrees_with_the_matrix_exponential():
    bed, hours = nested((7, 6, 5), (0.14, 0.12, 0.10)), 2.0
    faces = (Face(20.0, wall=STEEL),) * 4 + (Face(20.0, wall=PLATE), IN_OVEN)
    box = grid(bed, faces)
    flow, outward = matrix(box)
    heat = box.capacity.ravel()
    np.testing.assert_allclose(flow.sum(axis=1), -outward, atol=1e-9, rtol=0)
    warm = OVEN + expm(flow / heat[:, None] * hours * HOUR) @ np.full(heat.size, START - OVEN)
    run = cure(CuringBox(bed, faces, PHENOLIC), held(hours), allowed=0.02)
    np.testing.assert_allclose(
        run.temperature, warm.reshape(box.capacity.shape)[box.inside], atol=0.1, rtol=0
    )


films = st.sampled_from([0.0, 5.0, 30.0, inf])
one_face = st.builds(
    Face, films, st.sampled_from([None, 280.0, 400.0]), st.sampled_from([None, STEEL, PLATE])
)
shares = st.floats(0.0, 1.0)


@settings(max_examples=25, deadline=None)
@given(
    faces=st.tuples(*[one_face] * 6),
    shares=st.lists(shares, min_size=24, max_size=24),
    widths=st.tuples(*[st.lists(st.floats(0.002, 0.03), min_size=n, max_size=n) for n in (4, 3, 2)]),
)
def test_heat_stored_is_heat_that_came_in(faces, shares, widths):
    bed = HeatedBed(np.reshape(shares, (4, 3, 2)), tuple(map(np.array, widths)), STEEL_BED, PIECE, START)
    box = grid(bed, faces)

    def meets(time):
        oven = START + time / 10
        six = [oven if face.ambient is None else face.ambient for face in faces]
        return tuple(zip(six[::2], six[1::2], strict=True))

    strides = list(march(box, np.full(box.capacity.shape, START), meets, [900.0], 1.0))
    stored = (box.capacity * (strides[-1].last - START)).sum()
    came = sum(sum(stride.heats) for stride in strides)
    scale = box.capacity.sum() * 100
    np.testing.assert_allclose(stored, came, rtol=0, atol=1e-11 * scale)


def test_run_reports_the_heat_that_the_bed_stored():
    bed, faces = nested(), (IN_OVEN,) * 6
    run = cure(CuringBox(bed, faces, PHENOLIC), held(3))
    np.testing.assert_allclose(heat_stored(bed, faces, run), run.heat, rtol=1e-10)


def test_box_as_warm_as_the_oven_stays_so():
    run = cure(CuringBox(nested(), (Face(20.0, wall=STEEL),) * 6, PHENOLIC), held(5, START))
    np.testing.assert_allclose(run.temperature, START, rtol=1e-12)


@settings(max_examples=15, deadline=None)
@given(
    oven=st.floats(400.0, 520.0),
    film=st.floats(2.0, 100.0),
    seed=st.integers(0, 99),
    order=st.sampled_from([1.0, 1.5, 2.0]),
)
def test_box_never_leaves_start_to_oven_and_cure_never_falls_nor_passes_one(oven, film, seed, order):
    kinetics = PHENOLIC._replace(order=order)
    run = cure(
        CuringBox(nested((8, 7, 6), seed=seed), (Face(film),) * 6, kinetics), held(10, oven), allowed=0.05
    )
    assert run.temperature.min() >= START - 0.1 and run.hottest.max() <= oven + 0.1
    assert (np.diff(run.least) >= 0).all() and (np.diff(run.most) >= 0).all()
    share = degree(kinetics, run.equivalent)
    assert share.min() >= 0 and share.max() <= 1
    assert (run.most >= run.least).all()


def test_mirrored_box_gives_the_mirrored_answer():
    bed, faces = nested(), (IN_OVEN, SHUT, Face(20.0, wall=STEEL), IN_OVEN, IN_OVEN, Face(5.0))
    swapped = bed._replace(parts=bed.parts[::-1].copy())
    there = cure(CuringBox(bed, faces, PHENOLIC), held(2))
    back = cure(CuringBox(swapped, (faces[1], faces[0], *faces[2:]), PHENOLIC), held(2))
    np.testing.assert_allclose(back.temperature[::-1], there.temperature, rtol=1e-9)


def test_turned_box_gives_the_turned_answer():
    bed = nested()
    turned = bed._replace(
        parts=bed.parts.transpose(2, 0, 1).copy(), widths=(*bed.widths[2:], *bed.widths[:2])
    )
    faces = (IN_OVEN, SHUT, IN_OVEN, Face(5.0, wall=STEEL), IN_OVEN, Face(10.0))
    there = cure(CuringBox(bed, faces, PHENOLIC), held(2), allowed=0.01)
    back = cure(CuringBox(turned, (*faces[4:], *faces[:4]), PHENOLIC), held(2), allowed=0.01)
    np.testing.assert_allclose(back.temperature.transpose(1, 2, 0), there.temperature, atol=0.05, rtol=0)


def test_uneven_voxels_agree_with_even_ones():
    bed = bare((20, 20, 20), (0.1, 0.1, 0.1))
    sizes = np.r_[np.geomspace(0.002, 0.007, 10), np.geomspace(0.007, 0.002, 10)]
    uneven = bed._replace(widths=(sizes * 0.1 / sizes.sum(),) * 3)
    even_run, uneven_run = (cure(CuringBox(one, (IN_OVEN,) * 6, PHENOLIC), held(4)) for one in (bed, uneven))
    np.testing.assert_allclose(even_run.cured_after, uneven_run.cured_after, rtol=0.01)


def test_pieces_that_conduct_better_are_cured_sooner_and_insulated_ones_later():
    bed = nested()
    usual = cure(CuringBox(bed, (IN_OVEN,) * 6, PHENOLIC), held(12)).cured_after
    poor = bed._replace(part=bed.powder._replace(volume_heat=PIECE.volume_heat))
    assert cure(CuringBox(poor, (IN_OVEN,) * 6, PHENOLIC), held(12)).cured_after > usual
    assert cure(CuringBox(bed, (Face(20.0, wall=BOARD),) * 6, PHENOLIC), held(12)).cured_after > usual


def test_run_that_may_stop_ends_once_all_pieces_are_cured():
    whole, short = (
        cure(CuringBox(nested(), (IN_OVEN,) * 6, PHENOLIC), held(30), until=stop)
        for stop in (None, all_cured(nested(), PHENOLIC))
    )
    np.testing.assert_allclose(short.cured_after, whole.cured_after, rtol=1e-3)
    assert short.times[-1] < whole.times[-1]
    assert short.last == whole.last and short.corner == whole.corner


def test_programme_too_short_cures_nothing():
    assert cure(CuringBox(nested(), (IN_OVEN,) * 6, PHENOLIC), held(0.1)).cured_after == inf


@pytest.mark.parametrize("order", [1.0, 1.5, 2.0])
def test_equivalent_time_needed_gives_the_degree_asked(order):
    kinetics = PHENOLIC._replace(order=order)
    needed = equivalent_needed(kinetics)
    np.testing.assert_allclose(degree(kinetics, needed), kinetics.asked, rtol=1e-12)


def test_a_thinned_history_stays_on_the_one_it_comes_from():
    times = np.linspace(0.0, 9e3, 3001)
    history = 300 + 150 * np.tanh(times / 2e3)
    fewer, kept = bed_fit.thinned(times, history)
    assert len(fewer) < 400 and (fewer[0], fewer[-1]) == (0.0, 9e3)
    np.testing.assert_allclose(kept, 300 + 150 * np.tanh(fewer / 2e3), rtol=1e-6)
    same, values = bed_fit.thinned(times[:40], history[:40])
    assert same is not fewer and len(values) == 40
