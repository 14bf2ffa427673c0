"""Genealogy as lines to read and as rows of a table."""

from __future__ import annotations

import math
from typing import Any

from sagger.views.readings import size

Facts = dict[str, Any]
BACK = ("step", "name", "what", "entry", "person", "at")
PIECES = ("box", "label", "part", "number", "coupon", "x_mm", "y_mm", "z_mm", "load")


def back_rows(found: Facts) -> list[Facts]:
    """One row for each step behind a piece: what it was, and who entered it when."""
    piece, box = found["piece"], found["box"]
    rows = [_row("piece", piece["label"], _at(piece), piece["entry"])]
    rows.append(_row("box", box["name"], _planned(box), box["entry"]))
    for kind, card in box["facts"].get("cards", {}).items():
        rows.append(_row(f"{kind} card", card, "", box["entry"]))
    if "factors" in box["facts"]:
        rows.append(_row("factors", box["facts"]["factors"]["origin"], _factors(box), box["entry"]))
    for step in found["powder"]:
        sources = ", ".join(f"{mass:g} kg of {name}" for name, mass in step["sources"].items())
        text = f"{step['what']}, {step['kg']:g} kg" + (f" from {sources}" if sources else "")
        rows.append(_row(step["place"], step["name"], text, step["entry"]))
    for run in found["furnace"]:
        text = ", ".join(
            each for each in (run["furnace"], run["programme"], run["tray"], run["place"]) if each
        )
        rows.append(_row("furnace run", run["name"], text, run["entry"]))
    for each in found["readings"]:
        what = " ".join(filter(None, (each["state"], each["kind"], each["feature"], each["axis"])))
        u = math.hypot(each["u"], each["u_shared"])
        text = f"{what} {size(each['kind'], each['value'], u, each['unit'])}"
        text += f", {each['instrument']}" if each["instrument"] else ""
        rows.append(_row("reading", str(each["number"]), text, each["entry"]))
    rows += [
        _row("work", each["verb"], f"edition {each['edition']}, {each['output']}", None)
        for each in found["works"]
    ]
    heads = found["entries"]
    for row in rows:
        head = heads.get(row["entry"], {})
        row |= {"person": head.get("person", ""), "at": head.get("at", "")}
    return rows


def back_lines(found: Facts) -> list[str]:
    """The same, to read; the works of the plan are only counted."""
    rows = [row for row in back_rows(found) if row["step"] != "work"]
    lines = []
    for row in rows:
        who = f"  [{row['entry']}: {row['person']}, {row['at']}]" if row["person"] else ""
        lines.append(f"{row['step']:<12} {row['name']}  {row['what']}{who}".rstrip())
    if found["works"]:
        lines.append(
            f"{len(found['works'])} works of job {found['box']['job']}; `sagger show` and --json say each"
        )
    return lines


def forward_lines(found: Facts) -> list[str]:
    """What a lot went into."""
    lines = [f"lot {found['lot']}", f"  further lots: {', '.join(found['lots']) or 'none'}"]
    lines += [f"  boxes: {', '.join(found['boxes']) or 'none'}", f"  {len(found['pieces'])} pieces:"]
    return lines + [f"    {piece_line(piece)}" for piece in found["pieces"]]


def piece_line(piece: Facts) -> str:
    """A piece in one line."""
    run = f"  furnace run {piece['load']}" if piece["load"] else ""
    return f"{piece['box']}  {piece['label']}{'  coupon' if piece['coupon'] else ''}{run}"


def _row(step: str, name: str, what: str, entry: int | None) -> Facts:
    return {"step": step, "name": name, "what": what, "entry": entry}


def _at(piece: Facts) -> str:
    if piece["x_mm"] is None:
        return str(piece["part"])
    return f"{piece['part']}, at {piece['x_mm']:.1f}, {piece['y_mm']:.1f}, {piece['z_mm']:.1f} mm in the box"


def _planned(box: Facts) -> str:
    facts = box["facts"]
    job = f"box {box['number']} of job {box['job']}" if box["job"] else "not from a plan"
    return f"{job}, {facts['order']}, edition {facts['edition']}" if "order" in facts else job


def _factors(box: Facts) -> str:
    factors = box["facts"]["factors"]
    pairs = zip("xyz", factors["k"], factors["u"], strict=True)
    return ", ".join(f"{axis} {k:.5f} ± {u:.5f}" for axis, k, u in pairs)
