"""What reading an export again came to, as a document and as lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from sagger.stations.layers import Claim, PieceCheck, Verdict
from sagger.views.palette import letter
from sagger.views.plan.fill_asked import finding_out, said
from sagger.views.wording import count, digits_of, remark

Box = tuple[int, Claim, Verdict]  # its number, what was claimed, what was found


def document(folder: str, boxes: Sequence[Box], names: Sequence[str]) -> dict[str, Any]:
    """Everything found, as plain texts, numbers, lists and mappings.

    Parameters
    ----------
    folder : str
        What was read.
    boxes : sequence of (int, Claim, Verdict)
        Each box.
    names : sequence of str
        Of the parts, by index.
    """
    return {
        "schema": "sagger-layers/1",
        "folder": folder,
        "boxes": [
            {
                "number": number,
                "layers": claim.count,
                "strays": verdict.strays,
                "findings": [finding_out(each).model_dump() for each in verdict.findings],
                "pieces": [_piece(each, names) for each in verdict.pieces],
            }
            for number, claim, verdict in boxes
        ],
    }


def lines(number: int, claim: Claim, verdict: Verdict, names: Sequence[str]) -> Iterator[str]:
    """One line for the box, one for each piece, one for each limit that was passed."""
    strays = count(verdict.strays, "stray drop") if verdict.strays else "no stray drops"
    yield (
        f"box {number}: {digits_of(claim.count)} layers read, {count(len(claim.pieces), 'piece')}, {strays}"
    )
    yield from (f"  {remark(each)}" for each in verdict.findings)
    for each in verdict.pieces:
        share = 100 * each.volume_mm3 / each.expected_mm3 if each.expected_mm3 else 0.0
        yield (
            f"  {letter(each.part)} {names[each.part]} {each.number}: drops {each.volume_mm3:.2f} of "
            f"{each.expected_mm3:.2f} mm³ ({share:.2f} %), height {each.height_error_mm * 1e3:+.0f} µm, "
            f"edges {each.edge_bias_mm * 1e3:+.1f} µm, farthest drop {each.deviation_mm * 1e3:.0f} µm "
            f"(layer {each.worst_layer + 1}, {each.looked_at} compared)"
        )
        yield from (f"    {remark(found)}" for found in each.findings)


def stops(verdict: Verdict) -> bool:
    """True if a limit was passed."""
    found = [*verdict.findings, *(each for piece in verdict.pieces for each in piece.findings)]
    return any(each.level == "stop" for each in found)


def _piece(each: PieceCheck, names: Sequence[str]) -> dict[str, Any]:
    return {
        "part": each.part,
        "name": names[each.part],
        "number": each.number,
        "volume_mm3": said(each.volume_mm3),
        "expected_mm3": said(each.expected_mm3),
        "height_error_mm": said(each.height_error_mm),
        "edge_bias_mm": said(each.edge_bias_mm),
        "deviation_mm": said(each.deviation_mm),
        "worst_layer": each.worst_layer + 1,
        "layers_compared": each.looked_at,
        "findings": [finding_out(found).model_dump() for found in each.findings],
    }
