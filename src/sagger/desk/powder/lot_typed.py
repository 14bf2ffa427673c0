"""A powder lot that came without a file: what was typed in becomes a lot file, and is booked from it."""

from __future__ import annotations

from sagger import units
from sagger.desk import uploads
from sagger.desk.powder import lots
from sagger.errors import InputError
from sagger.files import toml
from sagger.goods.plain import Table
from sagger.ledger.lots import Mover

ASKED = {
    "mass": "mass weighed, such as 60 kg",
    "apparent_density": "apparent density, such as 4.30 g/cm3",
    "tap_density": "tap density",
    "method": "how both were measured",
    "u": "standard uncertainty of both, such as 0.03 g/cm3",
}
DENSITIES = ("apparent_density", "tap_density")
SOURCE = "typed in at the bench"


def receive(draft: str, typed: dict[str, str], sieved: str, person: str) -> str:
    """Book a lot in; says which entry it became.

    Parameters
    ----------
    draft : str
        Where its file is made.
    typed : dict of str
        name, powder and the keys of `ASKED`; "" = not measured.
    sieved : str
        Opening of a sieve and mass that stayed on it, with units, a line each; the pan is 0.
    person : str
        Who typed it in.

    Raises
    ------
    InputError
        With field, value and remedy.
    """
    if not typed["name"]:
        raise InputError("a lot needs a name", field="name of the lot", remedy="Write the one on its can.")
    table: Table = {"name": typed["name"], "powder": typed["powder"], "origin": "received"}
    folder = uploads.folder(draft, person)
    if sieved.strip():
        rows = [_row(line) for line in sieved.splitlines() if line.strip()]
        text = "".join(f"{opening:.10g},{mass:.10g}\n" for opening, mass in rows)
        (folder / "sieved.csv").write_text(f"opening_um,retained\n{text}", "utf-8")
        table["curve"] = {"method": "sieve", "file": "sieved.csv"}
    for key in DENSITIES:
        if typed[key]:
            where = typed["method"] or f"by {person}"
            figure: Table = {"value": typed[key], "source": SOURCE, "where": where, "standing": "measured"}
            table[key] = figure | ({"u": typed["u"]} if typed["u"] else {})
    path = folder / "typed.toml"
    path.write_text(toml.text(table), "utf-8")
    return lots.receive(path, typed["mass"], Mover(person=person, note=SOURCE))


def _row(line: str) -> tuple[float, float]:
    """Opening [um] and mass [kg] of "53 um 12.4 g"."""
    words = line.replace(",", " ").split()
    try:
        if words[0] == "0":
            words = ["0", "um", *words[1:]] if words[1:2] != ["um"] else words
        if len(words) != 4:
            raise InputError("this is no line of a sieve table")
        opening = units.read(" ".join(words[:2]), "length")
        mass = units.read(" ".join(words[2:]), "mass")
    except InputError as error:
        remedy = 'Write opening and mass with their units, "53 um 12.4 g"; the pan is "0 um 3.1 g".'
        raise InputError(error.what, field="sieve table", value=line, remedy=remedy) from None
    return units.into(opening, "um"), mass
