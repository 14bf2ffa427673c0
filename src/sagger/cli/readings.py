"""`sagger readings`: what was measured, and with what."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from sagger.cli.output import tell

PERSON = click.option("--person", required=True, envvar="SAGGER_PERSON", help="who enters this")
AS_JSON = click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout, SI units")


@click.group("readings", invoke_without_command=True)
@click.option("--kind", default="", help="only these: length, dimension, mass, density, hardness")
@click.option("--state", default="", help="only these: green, brown, sintered")
@click.option("--box", default="", help="only of this box")
@click.option("--piece", default="", help="only of pieces with this label")
@click.option("--powder", default="", help="only of boxes booked with this powder card")
@AS_JSON
@click.pass_context
def command(context: click.Context, /, as_json: bool, **asked: str) -> None:
    """List the readings in force, oldest first."""
    from sagger.desk.measuring.readings import listed

    if context.invoked_subcommand:
        return
    document, lines = listed(**asked)
    tell(document, lines, as_json=as_json)


@command.command("load")
@click.argument("table", metavar="TABLE.csv", type=click.Path(path_type=Path, dir_okay=False))
@PERSON
@click.option("--note", default="", help="what the table is")
@AS_JSON
def load(table: Path, person: str, note: str, as_json: bool) -> None:
    """Take the good rows of a table; bad ones are told by line and column, with exit code 2."""
    from sagger.cli.progress import shown
    from sagger.desk.measuring import readings

    with shown() as tick:
        taken = readings.load(table, person, note, tick=tick)
    tell(taken.document, taken.lines, as_json=as_json)
    sys.exit(2 if taken.refused else 0)


@command.command("enter")
@click.argument("box")
@click.argument("piece")
@click.argument("cells", metavar="COLUMN=TEXT...", nargs=-1, required=True)
@PERSON
@click.option("--again", is_flag=True, help="a second reading that says just what the first said")
@AS_JSON
def enter(box: str, piece: str, cells: tuple[str, ...], person: str, *, again: bool, as_json: bool) -> None:
    """Enter one reading by hand, in the columns of a table.

    For instance: sagger readings enter B1 bar-3 kind=length state=sintered axis=x value="20.12 mm"
    instrument="calliper 1"
    """
    from sagger.desk.measuring import readings
    from sagger.files.readings import COLUMNS

    by_column = {"box": box, "piece": piece}
    for cell in cells:
        name, sign, text = cell.partition("=")
        if name not in COLUMNS or not sign:
            raise click.BadParameter(f"{cell!r}; columns: {', '.join(COLUMNS)}", param_hint="COLUMN=TEXT")
        by_column[name] = text
    document, lines = readings.enter(by_column, person, again=again)
    tell(document, lines, as_json=as_json)


@command.command("void")
@click.argument("numbers", metavar="READING...", type=int, nargs=-1, required=True)
@PERSON
@click.option("--reason", required=True, help="why it does not count")
def void(numbers: tuple[int, ...], person: str, reason: str) -> None:
    """Let readings count no longer, such as one of a mistyped piece. They stay, with the reason."""
    from sagger.desk.measuring import readings

    click.echo(readings.void(numbers, person, reason))


@command.command("scan")
@click.argument("file", metavar="SCAN.stl|.ply", type=click.Path(path_type=Path, dir_okay=False))
@click.argument("box")
@click.argument("piece")
@click.option("--state", default="sintered", help="green, brown or sintered")
@click.option("--instrument", required=True, help="the scanner, as entered")
@click.option("--unit", default="", help="unit of a file that carries none; mm if not said")
@click.option("--as-filed", is_flag=True, help="the scan is turned as the piece lay in the box, nearly")
@PERSON
@AS_JSON
def scan(file: Path, person: str, as_filed: bool, as_json: bool, **about: str) -> None:
    """Lay the scan of a piece on the shape its plan asked for: size along each axis, field of deviations."""
    from sagger.cli.progress import shown
    from sagger.desk.measuring import scans

    with shown() as tick:
        document, lines = scans.scan(file, about, person, as_filed=as_filed, tick=tick)
    tell(document, lines, as_json=as_json)


@command.command("instrument")
@click.argument("name", default="")
@click.option(
    "--kind", default="length", help="what it reads: length, angle, mass, density, hardness, temperature"
)
@click.option("--u", default="", help='standard uncertainty of one reading alone, "0.005 mm"')
@click.option("--u-shared", default="", help='of what all its readings share: calibration, zero, "0.01 mm"')
@click.option("--u-shared-relative", default="", help='the same as a share of the reading, "0.02 %"')
@click.option("--calibrated", default="", help="date of the calibration")
@click.option("--person", default="", envvar="SAGGER_PERSON", help="who enters this")
@AS_JSON
def instrument(name: str, kind: str, calibrated: str, person: str, as_json: bool, **doubts: str) -> None:
    """Enter an instrument with its uncertainties; without NAME, list them."""
    from sagger.desk.measuring import readings

    if name and not doubts["u"]:
        raise click.UsageError("an instrument needs --u")
    if name:
        click.echo(readings.instrument(name, kind, doubts, calibrated, person))
        return
    document, lines = readings.instruments()
    tell(document, lines, as_json=as_json)
