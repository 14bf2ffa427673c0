"""Published furnace cycles: by closed forms as far as they go, and by finite elements."""

import closed_forms
import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from solid_bodies import box, built, meets, stuck
from solid_speeds import quarter_held

from sagger.goods.shape import Shape
from sagger.physics import solid
from sagger.physics.sintering import densify
from sagger.physics.solid.body import volumes

pytestmark = pytest.mark.outside(
    "Shi et al., J. Eur. Ceram. Soc. 43 (2023) 4939; Lester, SAND2017-12933R (2017)"
)

ZINC_OXIDE = {"surface_energy": 1.27, "radius": 0.2e-6}  # Shi et al., J. Eur. Ceram. Soc. 43 (2023) 4939


def zinc_oxide_decay(peak_degc):
    """Decay of porosity from 750 degC at 5 K/min."""

    def fluidity(time):
        x = (750 + time / 12) / 750
        return 1 / ((517 * x**2 - 1066 * x + 564) * 1e9)

    return closed_forms.speed(1.0, **ZINC_OXIDE) * quad(fluidity, 0, (peak_degc - 750) * 12, epsrel=1e-10)[0]


def zinc_oxide(peak_degc):
    """Finished over green length of its two layers, pressed to 0.47 and 0.57, free."""
    decay = zinc_oxide_decay(peak_degc)
    return [(start / float(densify.densified(start, decay))) ** (1 / 3) for start in (0.47, 0.57)]


def test_zinc_oxide_bilayer_bar_of_shi_2023_table_1():
    """Length 8.049 to 6.70 mm measured, 6.67 simulated; height 2.632 to 2.15 measured, 2.06 simulated.

    The layers hold each other, so the bar is taken as their mean; the bar's camber is left out: 2 % allowed.
    """
    mean = np.mean(zinc_oxide(1000))
    np.testing.assert_allclose([8.049 * mean, 2.632 * mean], [6.70, 2.15], rtol=0.02)


def test_zinc_oxide_bilayer_disc_of_shi_2023_table_2():
    """Radius 9.525 to 7.62 mm on the looser side, 7.83 on the denser, measured at 925 degC.

    Free layers bracket what bonded ones do; the mean is 2.5 % off, 3 % allowed.
    """
    loose, dense = (9.525 * ratio for ratio in zinc_oxide(925))
    assert loose < 7.83 < dense and loose < 7.62 * 1.02
    np.testing.assert_allclose((loose + dense) / 2, (7.62 + 7.83) / 2, rtol=0.03)


def layered(shape, height, peak_degc):
    """A quarter of two bonded layers, the looser one on top, free: the run, and places on the way [mm]."""
    body = built(shape, height / 4)
    loose = body.pieces.places[:, 2] >= 2
    held = quarter_held(body)
    held[np.argmin(np.linalg.norm(body.place, axis=1)), 2] = True
    softness = ZINC_OXIDE["radius"] / ZINC_OXIDE["surface_energy"]
    setting = solid.FiringSetting(
        solid.plain(zinc_oxide_decay(peak_degc), softness), 0.0, None, enough=1e-4, held=stuck(body, held)
    )
    out = solid.fire(body, solid.GreenBricks(body.place, np.where(loose, 0.47, 0.57)), setting)
    solid_ = volumes(body.body, out.place)[0]
    np.testing.assert_allclose(
        solid_ @ out.density, volumes(body.body, body.place)[0] @ np.where(loose, 0.47, 0.57), rtol=1e-12
    )

    def at(*place):
        return solid.carried(body.points(np.array([place]) * 1e-3), body.body.nodes, out.place)[0] * 1e3

    return at


def test_zinc_oxide_bilayer_bar_of_shi_2023_table_1_by_finite_elements():
    """8.049 x 2.632 mm green. The width is left out: print gives 3.89 mm both before and after."""
    at = layered(box((8.049 / 2, 1.5, 2.632)), 2.632, 1000)
    length = at(8.049 / 2, 0, 0)[0] + at(8.049 / 2, 0, 2.632)[0]
    height = at(0, 0, 2.632)[2] - at(0, 0, 0)[2]
    meets("zinc oxide bilayer bar at 1000 degC, length", length)
    meets("zinc oxide bilayer bar at 1000 degC, height", height)
    np.testing.assert_allclose(length, 6.67, rtol=0.01)  # simulated in print
    assert at(8.049 / 2, 0, 0)[2] - at(0, 0, 0)[2] > 0.1  # it curls up towards the looser side


def quarter_disc(radius, height):
    import manifold3d

    whole = manifold3d.Manifold.cylinder(height, radius, radius, 160)
    mesh = (whole ^ manifold3d.Manifold.cube((radius + 1, radius + 1, height))).to_mesh()
    vertices = np.asarray(mesh.vert_properties[:, :3], float)
    return Shape(vertices=vertices, triangles=np.asarray(mesh.tri_verts, np.int32))


@pytest.mark.slow
def test_zinc_oxide_bilayer_disc_of_shi_2023_table_2_by_finite_elements():
    """19.05 x 2 mm green: ours 7.50, 8.10, 1.68, 3.02 mm, the last 3.024, 3.024, 3.023 on 4, 6, 8 layers.

    The law bends the disc more than the furnace did. The simulation in print, 7.33, 7.75, 1.59 and 2.57 mm,
    is no guide: that disc has about 291 mm3, less than the 296 mm3 of solid in it.
    """
    at, slant = layered(quarter_disc(9.525, 2.0), 2.0, 925), 9.525 / 2**0.5
    top, bottom, foot = at(slant, slant, 2.0), at(slant, slant, 0), at(0, 0, 0)
    edge = np.linalg.norm(top - bottom)
    name = "zinc oxide bilayer disc at 925 degC,"
    meets(f"{name} radius of the top", np.hypot(*top[:2]))
    meets(f"{name} radius of the bottom", np.hypot(*bottom[:2]))
    meets(f"{name} height of the edge", edge)
    meets(f"{name} height in all", top[2] - foot[2])


# LaWO54, the same paper, section 5.4 and figure 6: 25 to 1500 degC at 2 K/min, 720 min, cooling at 2 K/min.
BEGINS, PEAK, RATE, HOLD = 1278.15, 1773.15, 2 / 60, 720 * 60.0


def lawo54_viscosity(kelvin):
    """Sign inside the bracket turned round against print, where it diverges above 1005 degC."""
    return 2.975e13 * (1 + -0.226 * 665e3 / 8.314462618 * (1 / kelvin - 1 / BEGINS)) ** (1 / -0.226)


def followed(start, time, kelvin_at, stiffens):
    def slope(at, density):
        loss = ((density[0] - 0.92) / 0.02) ** 1.33 if stiffens and density[0] > 0.92 else 0.0
        speed = closed_forms.speed(lawo54_viscosity(kelvin_at(at)), 1.0, 1e-6)
        return [speed / 10**loss * (1 - density[0])]

    path = solve_ivp(slope, (0, time), [start], method="LSODA", rtol=1e-9, atol=1e-12)
    return float(path.y[0, -1])


def test_lawo54_cycle_of_shi_2023_figure_6():
    """Printed: 0.952 measured, 0.957 simulated; 0.7221 at the start of the hold worked apart.

    The band of 0.015 covers what print leaves open: how its exponent is set, and whether it acts in cooling.
    """
    rise = (PEAK - BEGINS) / RATE
    hot = followed(0.597, rise, lambda time: BEGINS + RATE * time, stiffens=False)
    np.testing.assert_allclose(hot, 0.7221, atol=5e-5)
    soaked = followed(hot, HOLD, lambda time: PEAK, stiffens=True)
    final = followed(soaked, rise, lambda time: PEAK - RATE * time, stiffens=True)
    np.testing.assert_allclose(final, 0.952, atol=0.015)
    np.testing.assert_allclose(final, 0.957, atol=0.015)


def lawo54_course(points=4000):
    """The whole cycle as a body feels it, stiffer beyond 0.92 from the soak on, along its own density."""
    rise, density, fluid = (PEAK - BEGINS) / RATE, 0.597, []
    time = np.linspace(0, 2 * rise + HOLD, points)
    kelvin = np.interp(time, [0, rise, rise + HOLD, time[-1]], [BEGINS, PEAK, PEAK, BEGINS])
    for now, hot in zip(time, kelvin, strict=True):
        loss = (max(density - 0.92, 0) / 0.02) ** 1.33 if now > rise else 0.0
        fluid.append(1 / lawo54_viscosity(hot) / 10**loss)
        density = 1 - (1 - density) * np.exp(-closed_forms.speed(1 / fluid[-1], 1.0, 1e-6) * time[1])
    rates = np.array([fluid])
    return solid.fired(time, rates, closed_forms.speed(1.0, 1.0, 1e-6) * rates, np.zeros(1))


def test_lawo54_pellet_by_finite_elements():
    """The whole cycle on an odd shape."""
    body = built(box((3, 2, 2)), 0.9, (0.2, 0.3, 0.4))
    start = np.full(len(body.body.share), 0.597)
    out = solid.fire(
        body, solid.GreenBricks(body.place, start), solid.FiringSetting(lawo54_course(), 0.0, None)
    )
    for told in ("measured", "simulated"):
        meets(f"lanthanum tungstate, whole cycle to 1500 degC, final density, {told}", out.density)
    shrunk = np.ptp(out.place, axis=0) / np.ptp(body.place, axis=0)
    np.testing.assert_allclose(shrunk, (0.597 / out.density[0]) ** (1 / 3), rtol=1e-9)


def test_lawo54_viscosity_at_the_peak():
    """2.52e10 Pa.s at 1500 degC, worked apart."""
    np.testing.assert_allclose(lawo54_viscosity(PEAK), 2.52e10, rtol=2e-3)


@pytest.mark.parametrize(("step", "wanted"), [(600, 0.574432), (60, 0.587335), (15, 0.588358)])
def test_lester_2017_under_tension_in_coarse_steps(step, wanted):
    """1 MPa tension, backward Euler, worked apart; the published curve reads about 0.589."""
    from scipy.optimize import brentq

    density = 0.47
    for time in range(step, 3001, step):
        x = (750 + time / 12) / 750
        eta = (517 * x**2 - 1066 * x + 564) * 1e9

        def left(new, old=density, eta=eta):
            return new - old - step * closed_forms.rate_under_stress(new, 1e6, eta, 1.27, 1e-6)

        density = brentq(left, density - 0.01, 0.99, xtol=1e-14)
    np.testing.assert_allclose(density, wanted, atol=2e-6)
