"""A run that is killed or stopped goes on from there, to the same bytes."""

import hashlib
import json
import shutil
import signal
import subprocess
import time

import pytest

pytestmark = pytest.mark.slow


def digests(into):
    files = (path for path in sorted(into.rglob("*")) if path.is_file())
    return {str(path.relative_to(into)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def begin(shop, order, into, layers):
    """A plan under way that has drawn at least so many layers."""
    command = shop.command("plan", order, "--into", into)
    run = subprocess.Popen(
        command, env=shop.env, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True
    )
    until = time.monotonic() + 120
    while time.monotonic() < until and run.poll() is None:
        if len(list((into / "layers").glob("*.tif"))) >= layers:
            return run
        time.sleep(0.01)
    pytest.fail(f"no layers drawn: {run.stderr.read()}")


def test_killed_in_the_middle_it_resumes_to_the_same_bytes(shop, one_shop, example):
    order, cut = example("metal"), shop.folder / "out"
    victim = begin(shop, order, cut, 40)
    victim.send_signal(signal.SIGKILL)
    victim.communicate()
    drawn = {path: path.stat().st_mtime_ns for path in (cut / "layers").glob("*.tif")}
    assert not (cut / "plan.json").exists()
    shop.plan(order)
    assert sum(path.stat().st_mtime_ns == at for path, at in drawn.items()) >= len(drawn) - 1
    _, whole = one_shop.plan(order)
    assert digests(cut) == digests(whole)


def test_stopped_by_hand_it_says_so_and_can_go_on(shop, example):
    run = begin(shop, example("metal"), shop.folder / "out", 10)
    run.send_signal(signal.SIGINT)
    said = run.communicate(timeout=30)[1]
    assert run.returncode == 130
    assert "run the same command again" in said
    (job,) = json.loads(shop.say("jobs", "--json"))["jobs"]
    assert job["state"] == "cancelled"


def test_a_changed_order_draws_its_layers_anew(shop, example, tmp_path):
    text = example("alumina").read_text()
    shutil.copytree(example("alumina").parent / "parts", tmp_path / "parts")
    for number, name in enumerate(("one", "other")):
        order = tmp_path / "order.toml"
        order.write_text(text.replace("quantity = 8", f"quantity = {2 + number}"))
        plan, into = shop.plan(order)
        assert len(plan["pieces"]) == 2 + number, name
        assert len(list((into / "layers").glob("*.tif"))) == plan["layers"]["count"]
    manifest = (into / "layers" / "manifest.jsonl").read_text().splitlines()
    assert len(manifest) == plan["layers"]["count"] + 1


def test_a_folder_that_is_not_ours_is_left_alone(shop, example):
    into = shop.folder / "out"
    (into / "layers").mkdir(parents=True)
    (into / "layers" / "holiday.tif").write_bytes(b"mine")
    shop.say("plan", example("alumina"), "--into", into, code=2)
    assert (into / "layers" / "holiday.tif").read_bytes() == b"mine"
