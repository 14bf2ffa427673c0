"""A part that sags, from its file to the pre-deformed green part, stopped on the way and gone on with."""

import json
import signal
import subprocess
import sys

import manifold3d
import numpy as np
import pytest
import trimesh

from sagger.files import read_part

pytestmark = pytest.mark.slow

ORDER = """
[order]
name = "sagging"
[cards]
powder = "steel-316l"
head = "head-400"
box = "box-160x65x65"
furnace = "metal-batch"
[choices]
sag = "quick"
[[part]]
file = "table.stl"
unit = "mm"
quantity = 1
tolerance = "0.2 mm"
"""
# As on the command line, but every word of its progress is told, however quick the machine.
CHATTY = "from sagger.cli import main, progress; progress.QUIET_S = 0.0; main()"


def order(folder):
    """A plate of 26 mm on a stem."""
    stem = manifold3d.Manifold.cube((5, 8, 12)).translate((10.5, 0, 0))
    whole = (stem + manifold3d.Manifold.cube((26, 8, 3)).translate((0, 0, 10))).to_mesh()
    trimesh.Trimesh(whole.vert_properties[:, :3], whole.tri_verts).export(folder / "table.stl")
    (folder / "order.toml").write_text(ORDER)
    return folder / "order.toml"


def stopped_while_bending(shop, source, into):
    """What a plan says that is stopped by hand while finite elements run."""
    words = [sys.executable, "-c", CHATTY, "plan", str(source), "--into", str(into)]
    run = subprocess.Popen(words, env=shop.env, stderr=subprocess.PIPE, text=True)
    said = next((line for line in run.stderr if ", run " in line), "")
    assert "bending against sag, run " in said or "checking on a finer grid, run " in said
    run.send_signal(signal.SIGINT)
    rest = run.communicate(timeout=200)[1]
    assert run.returncode == 130
    return rest


def test_a_plan_is_stopped_while_it_bends_and_goes_on_to_a_green_part_that_comes_out_right(shop):
    source, into = order(shop.folder), shop.folder / "out"
    assert "run the same command again" in stopped_while_bending(shop, source, into)
    assert not (into / "plan.json").exists() and not (into / "furnace").exists()
    assert json.loads(shop.say("jobs", "--json"))["jobs"][0]["state"] == "cancelled"
    plan, into = shop.plan(source)
    sag = plan["parts"][0]["sag"]
    assert sag["before"]["most_mm"] > 0.15  # its ends hang
    assert sag["after"]["rms_mm"] < 0.011 < 0.07 * sag["before"]["rms_mm"]  # a twentieth of the tolerance
    assert sag["after"]["fit_rms_mm"] <= sag["after"]["rms_mm"]
    assert (into / "furnace" / "A.vtk").stat().st_size > 10_000
    green = read_part(into / "bed.3mf").shape.vertices
    k = np.array(plan["factors"]["k"])
    assert np.ptp(green[:, 2]) > 13 * k[2] + 0.1  # its ends point up
