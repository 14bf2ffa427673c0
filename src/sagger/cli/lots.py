"""`sagger lots`: the powder on the shelf, and every way it moves."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sagger.cli.output import tell

if TYPE_CHECKING:
    from sagger.ledger.lots import Mover

AS_JSON = click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
OF = click.option(
    "--of", "sources", multiple=True, required=True, metavar="LOT=MASS", help='such as L12="60 kg"'
)
LOT_FILE = click.Path(path_type=Path, dir_okay=False)
MEASURED = click.option(
    "--measured", "file", type=LOT_FILE, help="lot file with what was measured on the new lot"
)


def entered(function: Callable[..., None]) -> Callable[..., None]:
    """Adds the options of a command that writes an entry; the command is handed them as its `step`."""

    @functools.wraps(function)
    def command(
        *words: object, person: str, note: str, corrects: int | None, again: bool, **options: object
    ) -> None:
        from sagger.ledger.lots import Mover

        function(*words, step=Mover(person=person, note=note, corrects=corrects, once=not again), **options)

    for option in (
        click.option("--again", is_flag=True, help="a second one that says just what the first said"),
        click.option("--corrects", type=int, default=None, help="number of the entry that this one replaces"),
        click.option("--note", default="", help="why, or from which sheet"),
        click.option("--person", required=True, envvar="SAGGER_PERSON", help="who did it"),
    ):
        command = option(command)
    return command


@click.group("lots", invoke_without_command=True)
@click.option("--empty", is_flag=True, help="lots of which nothing is left, too")
@AS_JSON
@click.pass_context
def command(context: click.Context, /, empty: bool, as_json: bool) -> None:
    """List the powder on the shelf: mass, builds behind it, and what a person should look at."""
    from sagger.desk.powder.lots import shelf

    if context.invoked_subcommand:
        return
    document, lines = shelf(empty=empty)
    tell(document, lines, as_json=as_json)


@command.command("show")
@click.argument("lot")
@AS_JSON
def show(lot: str, as_json: bool) -> None:
    """Show LOT: what it is made of, size, densities, flow, and what should be looked at."""
    from sagger.desk.powder import lots

    document, lines = lots.show(lot)
    tell(document, lines, as_json=as_json)


@command.command("receive")
@click.argument("file", metavar="LOT.toml", type=LOT_FILE)
@click.option("--mass", required=True, help='weighed, "60 kg"')
@entered
def receive(file: Path, mass: str, step: Mover) -> None:
    """Book a lot in from its file (docs/lot.md)."""
    from sagger.desk.powder import lots

    click.echo(lots.receive(file, mass, step))


@command.command("sieve")
@click.argument("lot")
@click.argument("new")
@click.option("--passed", required=True, help="weighed below the sieve")
@click.option("--oversize", default="0 kg", help="weighed on the sieve, thrown away")
@click.option("--taken", default="", help="put on the sieve; all of it if not said")
@MEASURED
@entered
def sieve(lot: str, new: str, file: Path | None, step: Mover, **masses: str) -> None:
    """Sieve powder of LOT into the lot NEW; what is missing afterwards is booked as lost."""
    from sagger.desk.powder import lots

    click.echo(lots.sieve(lot, new, masses, file, step))


@command.command("blend")
@click.argument("new")
@OF
@click.option("--mass", default="", help="weighed afterwards; all of it if not said")
@MEASURED
@entered
def blend(new: str, sources: tuple[str, ...], mass: str, file: Path | None, step: Mover) -> None:
    """Blend lots into the lot NEW: size curves and builds are mixed by mass."""
    from sagger.desk.powder import lots

    click.echo(lots.blend(new, sources, mass, file, step))


@command.command("charge")
@click.argument("box")
@OF
@entered
def charge(box: str, sources: tuple[str, ...], step: Mover) -> None:
    """Put powder of one or more lots into BOX and its feed."""
    from sagger.desk.powder import lots

    click.echo(lots.charge(box, sources, step))


@command.command("recover")
@click.argument("box")
@click.argument("new")
@click.option("--recovered", required=True, help="loose powder weighed")
@click.option("--pieces", required=True, help="powder in the pieces: green mass less binder")
@click.option("--oversize", default="0 kg", help="left on the sieve, thrown away")
@MEASURED
@entered
def recover(box: str, new: str, file: Path | None, step: Mover, **masses: str) -> None:
    """Empty BOX into the lot NEW, one build older; what is missing is booked as lost."""
    from sagger.desk.powder import lots

    click.echo(lots.recover(box, new, masses, file, step))


@command.command("scrap")
@click.argument("lot")
@click.option("--mass", default="", help="all that is left if not said")
@entered
def scrap(lot: str, mass: str, step: Mover) -> None:
    """Throw powder of LOT away."""
    from sagger.desk.powder import lots

    click.echo(lots.scrap(lot, mass, step))


@command.command("measure")
@click.argument("file", metavar="LOT.toml", type=LOT_FILE)
@entered
def measure(file: Path, step: Mover) -> None:
    """Add what was measured on a lot that is there; the file says which."""
    from sagger.desk.powder import lots

    click.echo(lots.measured(file, step))


@command.command("refresh")
@click.argument("lot")
@click.option(
    "--builds", type=click.IntRange(min=1), required=True, help="from which on powder counts as old"
)
@click.option("--share", required=True, help='how much of a charge may be old, "5 %"')
@AS_JSON
def refresh(lot: str, builds: int, share: str, as_json: bool) -> None:
    """Say how much virgin powder keeps old powder rare."""
    from sagger.desk.powder import lots

    document, lines = lots.refresh(lot, builds, share)
    tell(document, lines, as_json=as_json)


@command.command("closing")
@AS_JSON
def closing(as_json: bool) -> None:
    """Check that mass closes and that no entry was changed after it was written."""
    from sagger.desk.powder import lots

    document, lines = lots.closing()
    tell(document, lines, as_json=as_json)
