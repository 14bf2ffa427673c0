"""What a camera sees."""

from __future__ import annotations

import numpy as np
import trimesh

from sagger.views.pictures.camera import Camera, camera, expose, project

CORNERS = np.array([[x, y, z] for z in (0, 10) for y in (0, 20) for x in (0, 40)], float)


def above(columns: int = 480) -> Camera:
    return camera(CORNERS, -90, 90, (columns, 1000), margin=40)


def box(size: tuple[float, float, float], at: tuple[float, float, float]) -> tuple[np.ndarray, np.ndarray]:
    mesh = trimesh.creation.box(size)
    return mesh.vertices + np.array(at), mesh.faces


def test_from_above_x_runs_right_and_y_up() -> None:
    origin, along_x, along_y, up = project(above(), np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]))
    np.testing.assert_allclose(along_x - origin, (10, 0, 0), atol=1e-9)
    np.testing.assert_allclose(along_y - origin, (0, -10, 0), atol=1e-9)
    np.testing.assert_allclose(up - origin, (0, 0, 10), atol=1e-9)


def test_everything_fits_with_its_margin() -> None:
    for azimuth, elevation in ((-58, 27), (-90, 0), (130, 60), (-90, 90)):
        eye = camera(CORNERS, azimuth, elevation, (600, 400), margin=30)
        seen = project(eye, CORNERS)[:, :2]
        assert seen.min() >= 14.999
        assert (seen.max(axis=0) <= (eye.columns - 29.999, eye.rows - 14.999)).all()


def test_a_turn_keeps_lengths() -> None:
    turn = camera(CORNERS, 12, 34, (600, 400), margin=30).turn
    np.testing.assert_allclose(turn @ turn.T, np.eye(3), atol=1e-12)
    np.testing.assert_allclose(np.linalg.det(turn), 1, rtol=1e-12)


def test_a_block_covers_its_area() -> None:
    film = expose(above(), [box((12, 6, 4), (20, 10, 2))])
    assert (film.owner == 0).sum() == 120 * 60


def test_the_sphere_covers_its_disc_and_is_brightest_towards_the_light() -> None:
    ball = trimesh.creation.icosphere(5, radius=8)
    film = expose(above(), [(ball.vertices + np.array([20, 10, 0]), ball.faces)])
    np.testing.assert_allclose((film.owner == 0).sum(), np.pi * 80**2, rtol=2e-3)
    row, column = np.unravel_index(np.argmax(film.shade), film.shade.shape)
    centre = project(above(), np.array([[20.0, 10, 0]]))[0]
    assert row < centre[1]
    assert column < centre[0]


def test_the_nearer_solid_hides_the_other() -> None:
    low, high = box((12, 6, 2), (20, 10, 1)), box((4, 4, 2), (20, 10, 6))
    for solids, upper in (([low, high], 1), ([high, low], 0)):
        film = expose(above(), solids)
        assert (film.owner == upper).sum() == 40 * 40
        assert (film.owner == 1 - upper).sum() == 120 * 60 - 40 * 40


def test_faces_that_look_away_are_not_drawn() -> None:
    vertices, faces = box((12, 6, 4), (20, 10, 2))
    film = expose(above(), [(vertices, faces[:, ::-1])])  # inside out: only the far inner floor is seen
    assert film.depth.max() < project(above(), np.array([[0, 0, 3.9]]))[0, 2]
