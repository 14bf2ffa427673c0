"""`sagger --help` is quick because it loads nothing heavy."""

import subprocess
import sys

import click
import pytest

HEAVY = (
    "numpy",
    "scipy",
    "numba",
    "trimesh",
    "manifold3d",
    "sqlalchemy",
    "alembic",
    "pydantic",
    "rich",
    "typst",
    "nicegui",
    "fastapi",
)


@pytest.mark.slow
@pytest.mark.parametrize("words", [["--help"], ["plan", "--help"], ["check", "--help"], ["serve", "--help"]])
def test_help_loads_nothing_heavy(words):
    code = f"import sys; sys.argv[1:] = {words}\nfrom sagger.cli import main\n"
    code += "try: main()\nexcept SystemExit: pass\nprint([m for m in sys.argv_heavy if m in sys.modules])"
    code = code.replace("sys.argv_heavy", repr(HEAVY))
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_no_command_takes_a_secret_among_its_words():
    """Others can read them with `ps`, and a shell keeps them."""
    from sagger.cli import sagger

    ends = [(sagger, click.Context(sagger))]
    while ends:
        command, context = ends.pop()
        words = {word for option in command.params for word in option.opts}
        assert not [word for word in words if any(sign in word for sign in ("password", "secret", "token"))]
        if isinstance(command, click.Group):
            ends += [(command.get_command(context, name), context) for name in command.list_commands(context)]
