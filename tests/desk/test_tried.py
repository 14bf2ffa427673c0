"""Another programme for a job that was planned: worked out by the same lines of the process as the plan."""

import json
from pathlib import Path

import pytest

from sagger.desk import uploads
from sagger.desk.pictures import tried
from sagger.desk.planning import drafts, history, plan
from sagger.errors import InputError

TABLES = {
    "order": {"name": "a ball"},
    "cards": {"powder": "steel-316l", "box": "box-160x65x65"},
    "choices": {"layer": "0.5 mm"},
    "part": [{"file": "ball.stl", "unit": "mm", "quantity": 1, "tolerance": "2 %"}],
}

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    """Number of a planned job of one ball, from an order that the desk keeps."""
    import trimesh

    folder = tmp_path_factory.mktemp("shop")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SAGGER_HOME", str(folder))
        patch.delenv("SAGGER_LEDGER_URL", raising=False)
        token = uploads.begin()
        trimesh.creation.icosphere(subdivisions=2, radius=5.0).export(uploads.place(token, "ball.stl"))
        version = drafts.save(token, TABLES, "A. Engineer")
        from sagger.ledger import jobs, versions

        book = plan.open_ledger()
        kept = versions.one(book, version)
        number = jobs.ask(book, "a ball", str(folder / "out"), version, "A. Engineer")
        plan.plan(Path(kept.folder) / "order.toml", folder / "out", job=number)
        yield number


def test_the_programme_of_the_plan_tried_again_gives_the_plan(job):
    planned = json.loads(history.plan_text(job))
    fired = json.loads(tried.furnace_tried(job, json.dumps(TABLES)))
    cured = json.loads(tried.oven_tried(job, json.dumps(TABLES), 0))
    assert fired["sinter"] == planned["sinter"]
    assert cured["cure"] == planned["boxes"][0]["cure"]


def test_a_hotter_peak_comes_out_denser(job):
    stretch = {"stage": "sintering", "rate": "5 K/min", "hold": "1 h", "atmosphere": "hydrogen"}
    low, high = (
        tried.furnace_tried(job, json.dumps(TABLES | {"furnace_programme": [stretch | {"target": peak}]}))
        for peak in ("1250 degC", "1350 degC")
    )
    assert (
        tried.read(high).run.final_relative_density_percent
        > tried.read(low).run.final_relative_density_percent
    )


def test_a_box_that_the_job_does_not_have_is_refused(job):
    with pytest.raises(InputError, match="not come so far"):
        tried.oven_tried(job, json.dumps(TABLES), 1)


@pytest.mark.parametrize("other", ["/etc/passwd", "../../lot.toml", "lot.toml"])
def test_other_lots_are_those_of_the_ledger_and_never_files(tmp_path, monkeypatch, other):
    """Whether a file is there or not, the answer is the same."""
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    (tmp_path / "lot.toml").write_text("strange_key = 1")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match=r"no lot") as told:
        tried.blended(other, (), "steel-316l")
    assert "strange_key" not in str(told.value) and "root:" not in str(told.value)
