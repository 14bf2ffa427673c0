"""The bench as a terminal sees it."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request

import pytest


@pytest.mark.slow
def test_ctrl_c_closes_the_bench_with_a_sentence(tmp_path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    run = subprocess.Popen(
        [sys.executable, "-m", "sagger", "serve", "--port", str(port)],
        env={k: v for k, v in os.environ.items() if "PYTEST" not in k} | {"SAGGER_HOME": str(tmp_path)},
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,  # as in a terminal: Ctrl-C goes to all of them
    )
    until = time.monotonic() + 60
    while time.monotonic() < until:
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/bench/bench.css").read()
            break
        except OSError:
            time.sleep(0.1)
    time.sleep(2)  # its workers are up
    os.killpg(run.pid, signal.SIGINT)
    said = run.communicate(timeout=30)[1]
    assert said.splitlines()[1:] == ["closed; jobs under way go on"]
    assert run.returncode == 0
