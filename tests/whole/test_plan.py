"""From a part file to drop images, plan and quote."""

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from datetime import datetime

import lib3mf
import numpy as np
import pypdfium2
import pytest
import tifffile
from PIL import Image

pytestmark = pytest.mark.slow


def black_mm3(plan, into):
    """Black area times layer height, read by a general TIFF reader."""
    pitch_x, pitch_y = (p / 1000 for p in plan["layers"]["pitch_um"])
    files = sorted((into / "layers").glob("*.tif"))
    assert len(files) == plan["layers"]["count"]
    black = sum(int(np.count_nonzero(tifffile.imread(path))) for path in files)
    return black * pitch_x * pitch_y * plan["layers"]["thickness_um"] / 1000


def expected_mm3(plan):
    copies = {}
    for piece in plan["pieces"]:
        copies[piece["part"]] = copies.get(piece["part"], 0) + 1
    volume = {part["name"]: part["volume_mm3"] for part in plan["parts"]}
    return sum(n * volume[name] for name, n in copies.items()) * np.prod(plan["factors"]["k"])


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("nist_ctc_01_asme1_ap242-e1.stp", ["--scale", "0.1"]),
        ("featuretype.STL", ["--unit", "in", "--scale", "0.5", "--quantity", "2"]),
    ],
)
def test_a_part_nobody_here_drew_is_carried_to_layers_and_traveller(planned, shared_part, name, words):
    plan, into = planned(shared_part(name), *words)
    np.testing.assert_allclose(black_mm3(plan, into), expected_mm3(plan), rtol=2e-3)
    pdf = pypdfium2.PdfDocument(into / "traveller.pdf")
    assert "traveller" in pdf[0].get_textpage().get_text_bounded().lower()
    assert (into / "traveller.html").read_text().lstrip().startswith("<!doctype html>")


@pytest.mark.parametrize("name", ["metal", "sand-core", "alumina"])
def test_an_example_order_closes(planned, name, example):
    plan, into = planned(example(name))
    np.testing.assert_allclose(black_mm3(plan, into), expected_mm3(plan), rtol=2e-3)
    assert (plan["sinter"] is None) == (name == "sand-core")
    assert all(finding["level"] != "stop" for part in plan["parts"] for finding in part["findings"])


def test_two_tiff_readers_see_the_same_drops(planned, example):
    plan, into = planned(example("alumina"))
    path = into / "layers" / f"{plan['layers']['count'] // 2:05d}.tif"
    other = np.asarray(Image.open(path))
    np.testing.assert_array_equal(tifffile.imread(path).astype(bool), ~other)
    tags = tifffile.TiffFile(path).pages[0].tags
    dpi = [tags[name].value[0] / tags[name].value[1] for name in ("XResolution", "YResolution")]
    np.testing.assert_allclose(25400 / np.array(dpi), plan["layers"]["pitch_um"], rtol=1e-6)


def test_the_bed_file_is_read_by_a_strict_reader(planned, example):
    plan, into = planned(example("alumina"))
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(into / "bed.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetBuildItems().Count() == len(plan["pieces"])


def digests(into):
    return {
        str(path.relative_to(into)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(into.rglob("*"))
        if path.is_file()
    }


def test_killed_in_the_middle_it_resumes_to_the_same_bytes(sagger, tmp_path, example):
    order = example("metal")
    sagger("plan", order, "--into", tmp_path / "whole")
    env = sagger.env | {"SAGGER_HOME": str(tmp_path / "other-home")}
    command = [sys.executable, "-m", "sagger", "plan", str(order), "--into", str(tmp_path / "cut")]
    victim = subprocess.Popen(command, env=env, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
    layers, until = tmp_path / "cut" / "layers", time.monotonic() + 120
    while time.monotonic() < until and victim.poll() is None and len(list(layers.glob("*.tif"))) < 40:
        time.sleep(0.01)
    os.kill(victim.pid, signal.SIGKILL)
    victim.wait()
    drawn = {path: path.stat().st_mtime_ns for path in layers.glob("*.tif")}
    assert len(drawn) >= 40
    assert not (tmp_path / "cut" / "plan.json").exists()
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert sum(path.stat().st_mtime_ns == at for path, at in drawn.items()) >= len(drawn) - 1
    assert digests(tmp_path / "cut") == digests(tmp_path / "whole")


def test_stopped_by_hand_it_says_so_and_can_go_on(sagger, tmp_path, example):
    order = example("metal")
    command = [sys.executable, "-m", "sagger", "plan", str(order), "--into", str(tmp_path / "out")]
    run = subprocess.Popen(command, env=sagger.env, stderr=subprocess.PIPE, text=True)
    layers, until = tmp_path / "out" / "layers", time.monotonic() + 120
    while time.monotonic() < until and len(list(layers.glob("*.tif"))) < 10:
        time.sleep(0.01)
    run.send_signal(signal.SIGINT)
    assert run.wait(timeout=20) == 130
    assert "run the same command again" in run.stderr.read()
    (job,) = json.loads(sagger("jobs", "--json"))["jobs"]
    assert job["state"] == "cancelled"


def test_a_second_plan_remembers_and_a_changed_choice_does_not(sagger, tmp_path, example):
    order = example("alumina")
    for _ in range(2):
        sagger("plan", order, "--into", tmp_path / "out")
    works = json.loads(sagger("show", 2, "--json"))["works"]
    assert works
    assert all(work["remembered"] for work in works)


def test_approved_factors_reach_the_print(sagger, tmp_path, example):
    order = example("alumina")
    words = ["--k", "1.111", "1.122", "1.133", "--u", "0.001", "0.001", "0.001"]
    sagger("factors", "approve", "alumina", *words, "--person", "A. Person", "--reason", "test")
    sagger("plan", order, "--into", tmp_path / "out")
    plan = json.loads((tmp_path / "out" / "plan.json").read_text())
    assert plan["factors"]["k"] == [1.111, 1.122, 1.133]
    turn = np.array(plan["pieces"][0]["placement"])[:3, :3]
    np.testing.assert_allclose(np.linalg.norm(turn, axis=1), [1.111, 1.122, 1.133], rtol=1e-12)


def test_json_stands_alone_on_stdout(sagger, tmp_path, example):
    plan = json.loads(sagger("plan", example("alumina"), "--into", tmp_path / "out", "--json"))
    assert plan == json.loads((tmp_path / "out" / "plan.json").read_text())
    assert datetime.fromisoformat(plan["quote"]["ready"]) > datetime(2026, 1, 1)


def test_what_cannot_be_made_is_refused_with_the_reason(sagger, shared_part, tmp_path):
    part = shared_part("nist_ctc_01_asme1_ap242-e1.stp")
    sagger("plan", part, "--into", tmp_path / "out", code=3)
    plan = json.loads((tmp_path / "out" / "plan.json").read_text())
    stops = [finding for finding in plan["parts"][0]["findings"] if finding["level"] == "stop"]
    assert stops
    assert all(finding["remedy"] for finding in stops)
