"""`sagger factors`: the approved oversize factors."""

from __future__ import annotations

import click

from sagger.cli.output import tell

Triple = tuple[float, float, float]


@click.group("factors", invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
@click.pass_context
def command(context: click.Context, as_json: bool) -> None:
    """List the approved factors, newest first, and which hold; `today` says what a job would use."""
    from sagger.desk.measuring.approvals import factors

    if context.invoked_subcommand:
        return
    document, lines = factors()
    tell(document, lines, as_json=as_json)


@command.command("today")
@click.argument("powder")
@click.option("--lot", default="", metavar="LOT", help="a lot file (.toml) or a name in the ledger")
@click.option("--json", "as_json", is_flag=True, help="print as JSON on stdout")
def today(powder: str, lot: str, as_json: bool) -> None:
    """Say which factors a job in POWDER would use today: approved ones, else those of the lot or the card."""
    from sagger import factors as in_force
    from sagger.views import plan

    factors = in_force(powder, lot=lot)
    axes = zip("xyz", factors.k, factors.u, strict=True)
    sizes = "  ".join(f"{axis} {k:.5f} ± {u:.5f}" for axis, k, u in axes)
    tell(plan.of(factors), [f"{powder}  {sizes}  from {factors.origin}"], as_json=as_json)


@command.command("approve")
@click.argument("material", metavar="POWDER")
@click.option("--k", nargs=3, type=float, required=True, help="green over finished length along x, y, z")
@click.option("--u", nargs=3, type=float, required=True, help="standard uncertainty of each")
@click.option("--person", required=True, envvar="SAGGER_PERSON", help="who approves")
@click.option("--reason", required=True, help="from which readings")
@click.option("--for-lot", default="", metavar="LOT", help="they hold for this lot alone")
@click.option("--job", type=int, help="measured on pieces of this job: its plan says all conditions")
@click.option("--lot", default="", help="measured on this lot: a lot file (.toml) or a name in the ledger")
@click.option("--layer", default="", help='"50 um"')
@click.option("--saturation", default="", help='"70 %"')
@click.option("--binder", default="", metavar="CARD")
@click.option("--head", default="", metavar="CARD")
@click.option("--box", default="", metavar="CARD")
@click.option("--furnace", default="", metavar="CARD")
@click.option("--peak", default="", help='of the furnace programme, "1360 degC"')
@click.option("--hold", default="", help='at the peak, "60 min"')
@click.option("--rate", default="", help='up to the peak, "5 K/min"')
@click.option("--atmosphere", default="", help="at the peak")
@click.option("--green-density", default="", help='relative, binder excluded, "55.0 %"')
@click.option("--density", default="", help='reached, relative, "96.5 %"')
@click.option("--again", is_flag=True, help="though the approval in force says just this")
def approve(material: str, k: Triple, u: Triple, person: str, **under: str | int | None) -> None:
    """Approve oversize factors for POWDER, and say under what they were measured.

    Where nothing is said of a condition, the usual one of the cards counts. Factors whose product does not
    fit green density and density reached (balance of mass) are refused.
    """
    from sagger.desk.measuring import approvals, typed_conditions

    job, for_lot, reason = under.pop("job"), str(under.pop("for_lot")), str(under.pop("reason"))
    again = bool(under.pop("again"))
    texts = {name: str(text) for name, text in under.items()}
    words = typed_conditions.stated(texts, job if isinstance(job, int) else None)
    factors = typed_conditions.factors(material, k, u, for_lot)
    click.echo(approvals.approve(factors, person, reason, words, again=again))


@command.command("withdraw")
@click.argument("number", metavar="ENTRY", type=int)
@click.option("--person", required=True, envvar="SAGGER_PERSON", help="who withdraws it")
@click.option("--reason", required=True, help="why it does not hold")
def withdraw(number: int, person: str, reason: str) -> None:
    """Withdraw the approval of ENTRY, with factors, scatter and map; the one before holds again."""
    from sagger.desk.measuring import approvals

    click.echo(approvals.withdraw(number, person, reason))
