"""`make soak` and `make day` in short, with fixed seeds: hostile files, kills, damaged ledgers, writers."""

import json
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

import day
from sagger.cli import sagger
from soaking import commands, ledgers

TESTS = Path(__file__).parents[1]
pytestmark = pytest.mark.slow


def told(script, folder, *words):
    """What a script prints, if it found nothing wrong and left no folder in the temporary place."""
    command = [sys.executable, str(TESTS / script), *words]
    surroundings = os.environ | {"TMPDIR": str(folder)}
    done = subprocess.run(command, env=surroundings, capture_output=True, text=True, check=False)
    printed = json.loads(done.stdout)
    assert printed["wrong"] == [], done.stderr[-2000:]
    assert [path.name for path in folder.iterdir() if path.is_dir()] == []
    return printed


def test_every_command_of_the_program_is_tried_or_only_reads():
    """A new command that writes has to be killed, and to meet a full disk, before it is let in."""
    tried = {saying.name for saying in commands.all_of()}
    assert not tried & commands.READS
    assert len({saying.key for saying in commands.all_of()}) == len(commands.all_of())
    assert tried | commands.READS == set(names(sagger))


def names(command, above=()):
    """Of all commands below one, as they are said."""
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            yield from names(command.get_command(context, name), (*above, name))
    else:
        yield " ".join(above)


def test_nothing_breaks_in_a_short_soak(tmp_path):
    """No traceback, no library's word, no hang, no wrong volume; nothing lost or booked twice; all told.

    On SQLite, and on PostgreSQL where there is one.
    """
    few = ("--seed=11", "--seconds=400", "--files=102", "--kills=10", "--ledgers=4", "--each=1", "--disks=0")
    soaked = told("soak.py", tmp_path, *few)
    assert 34 <= soaked["files"]["tries"] <= 102  # each kind has a share of the seconds, on any machine
    for server in ("", *([" on PostgreSQL"] if ledgers.possible() else [])):
        assert soaked[f"kills{server}"]["kills"] >= 1 and soaked[f"writers{server}"]["writers"] == 12
        edits = soaked[f"ledgers{server}"]
        assert edits["edited: told"] == edits["edited"] > 0


def test_an_hour_of_a_shop_leaves_nothing_behind(tmp_path):
    """All is booked, every page answers, no process and no folder stays."""
    hour = told("day.py", tmp_path, "--hours=1", "--seed=7")
    assert (hour["plans"], hour["entries"], hour["pages"]) == (1, len(day.ENTERED), hour["asked"])
