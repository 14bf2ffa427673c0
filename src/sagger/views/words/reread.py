"""What reading an export again came to, as a document and as lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from sagger.goods.good import good
from sagger.stations.layers import Claim, PieceCheck, Verdict
from sagger.views import plan
from sagger.views.pictures.palette import letter
from sagger.views.wording import count, digits_of, noiseless, remark

Box = tuple[int, Claim, Verdict]  # its number, what was claimed, what was found


class CheckedPiece(NamedTuple):
    """A piece as its layers would print it."""

    part: int
    name: str
    number: int
    volume_mm3: float
    expected_mm3: float
    height_error_mm: float
    edge_bias_mm: float
    deviation_mm: float
    worst_layer: int  # from 1
    layers_compared: int
    findings: list[object]  # as in plan.json


class CheckedBox(NamedTuple):
    """The layers of a box."""

    number: int
    layers: int
    strays: int
    findings: list[object]  # as in plan.json
    pieces: list[CheckedPiece]


@good
class RereadDocument:
    """What reading an export again came to."""

    schema: str = "sagger-layers/1"
    folder: str
    boxes: tuple[CheckedBox, ...]


def document(folder: str, boxes: Sequence[Box], names: Sequence[str]) -> RereadDocument:
    """Everything found.

    Parameters
    ----------
    folder : str
        What was read.
    boxes : sequence of (int, Claim, Verdict)
        Each box.
    names : sequence of str
        Of the parts, by index.
    """
    checked = (
        CheckedBox(
            number,
            claim.count,
            verdict.strays,
            [plan.of(found) for found in verdict.findings],
            [_piece(piece, names) for piece in verdict.pieces],
        )
        for number, claim, verdict in boxes
    )
    return RereadDocument(folder=folder, boxes=tuple(checked))


def lines(number: int, claim: Claim, verdict: Verdict, names: Sequence[str]) -> Iterator[str]:
    """One line for the box, one for each piece, one for each limit that was passed."""
    strays = count(verdict.strays, "stray drop") if verdict.strays else "no stray drops"
    yield (
        f"box {number}: {digits_of(claim.count)} layers read, {count(len(claim.pieces), 'piece')}, {strays}"
    )
    yield from (f"  {remark(piece)}" for piece in verdict.findings)
    for piece in verdict.pieces:
        share = 100 * piece.volume_mm3 / piece.expected_mm3 if piece.expected_mm3 else 0.0
        yield (
            f"  {letter(piece.part)} {names[piece.part]} {piece.number}: drops {piece.volume_mm3:.2f} of "
            f"{piece.expected_mm3:.2f} mm³ ({share:.2f} %), height {piece.height_error_mm * 1e3:+.0f} µm, "
            f"edges {piece.edge_bias_mm * 1e3:+.1f} µm, farthest drop {piece.deviation_mm * 1e3:.0f} µm "
            f"(layer {piece.worst_layer + 1}, {piece.looked_at} compared)"
        )
        yield from (f"    {remark(found)}" for found in piece.findings)


def stops(verdict: Verdict) -> bool:
    """True if a limit was passed."""
    found = [*verdict.findings, *(each for piece in verdict.pieces for each in piece.findings)]
    return any(each.level == "stop" for each in found)


def _piece(piece: PieceCheck, names: Sequence[str]) -> CheckedPiece:
    return CheckedPiece(
        part=piece.part,
        name=names[piece.part],
        number=piece.number,
        volume_mm3=noiseless(piece.volume_mm3),
        expected_mm3=noiseless(piece.expected_mm3),
        height_error_mm=noiseless(piece.height_error_mm),
        edge_bias_mm=noiseless(piece.edge_bias_mm),
        deviation_mm=noiseless(piece.deviation_mm),
        worst_layer=piece.worst_layer + 1,
        layers_compared=piece.looked_at,
        findings=[plan.of(found) for found in piece.findings],
    )
