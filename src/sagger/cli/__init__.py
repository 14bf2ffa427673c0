"""The command line: read words, one call to the desk, print."""

from __future__ import annotations

import sys
from importlib import import_module

import click

COMMANDS = {
    "check": "what a part file holds, and whether the process can make it",
    "plan": "one order, from part files to drop images, traveller and quote",
    "cell": "many orders on the machines there are: book, plan, events, offers, the day's sheet",
    "layers": "reads exported layers again and compares them with the parts",
    "cards": "the powders, binders, heads, boxes, ovens, furnaces and shops on file",
    "burnout": "a thermobalance's table into the burnout figures of an own powder card",
    "calibrate": "coupons that tell how a powder sinters and sags, planned and evaluated",
    "factors": "the approved oversize factors, and approving new ones",
    "blend": "which second cut packs closer with a powder lot, at which share",
    "bleed": "how far binder creeps, from coupons of several sizes",
    "ladder": "coupons at rising saturations, laid out and read",
    "learn": "what coupons and readings say: labels, new factors, the map of a bed",
    "offer": "what is offered for a planned order, as a paper to send",
    "certificate": "what was measured on the pieces of a job, as a paper to send with them",
    "judge": "finished lengths against tolerances: verdicts, capability, charts, gauges",
    "lots": "the powder on the shelf: receive, sieve, blend, charge, recover, scrap",
    "book": "enter what was done: a printed box, a furnace run",
    "readings": "what was measured on pieces and coupons, and with what",
    "ovenrun": "how well a bed of powder conducts, from one thermocouple run",
    "score": "what is foretold, held against what was measured in print and in this shop",
    "trace": "from a piece back to all behind it, from a lot forward to its pieces",
    "ledger": "the ledger itself: check, backup, restore, export, tidy",
    "jobs": "the jobs of this shop",
    "show": "one job: its state, its works, what it says",
    "serve": "the bench: the whole job in the browser",
    "people": "who may come in to the bench, and what they may do",
    "warm": "compile what computes, so that the first job does not wait",
}


class Commands(click.Group):
    """Commands that load when they are called, so that `sagger --help` is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        return import_module(f"sagger.cli.{cmd_name}").command  # type: ignore[no-any-return]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="sagger")
def sagger() -> None:
    """From a customer's part file to dense parts inside tolerance, on a date, at a price.

    Exit codes: 0 done; 2 something given is refused; 3 the process cannot make it as asked;
    4 the ledger or a disk cannot be used; 130 stopped by you.
    """


def main() -> None:
    """Run a command and turn what stops it into a sentence and an exit code."""
    from sagger.errors import Cancelled, DiskError, LedgerError, SaggerError, StopError, not_written

    try:
        sagger.main(standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except (Cancelled, click.Abort, KeyboardInterrupt):
        click.echo("stopped; run the same command again to go on from here", err=True)
        sys.exit(130)
    except StopError as error:
        click.echo(f"cannot be made: {error}", err=True)
        sys.exit(3)
    except LedgerError as error:
        click.echo(f"ledger: {error}", err=True)
        sys.exit(4)
    except DiskError as error:
        click.echo(str(error), err=True)
        sys.exit(4)
    except SaggerError as error:
        click.echo(f"refused: {error}", err=True)
        sys.exit(2)
    except OSError as error:
        full = not_written(error)
        if full is None:
            raise
        click.echo(str(full), err=True)
        sys.exit(4)
