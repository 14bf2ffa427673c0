"""The book of the shop: powder lots and movements, boxes, pieces, furnace runs, instruments, readings."""

from collections.abc import Iterator

import sqlalchemy as sa
from alembic import op
from sqlalchemy.schema import SchemaItem

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    with op.batch_alter_table("job") as job:
        job.add_column(sa.Column("host", sa.String(80), nullable=False, server_default=""))
    op.create_table(
        "entry",
        sa.Column("id", sa.Integer, primary_key=True),
        _text("what", 20, index=True),
        _text("person"),
        sa.Column("note", sa.Text, nullable=False),
        _text("at", 40),
        sa.Column("corrects", sa.Integer, sa.ForeignKey("entry.id"), nullable=True, index=True),
        _text("before", 32),
        _text("digest", 32),
    )
    for name, columns in _tables():
        op.create_table(
            name,
            sa.Column("id", sa.Integer, primary_key=True),
            sa.Column("entry", sa.Integer, sa.ForeignKey("entry.id"), nullable=False, index=True),
            *columns,
        )
    op.create_index("ix_reading_box_piece", "reading", ["box", "piece"])


def _tables() -> Iterator[tuple[str, list[SchemaItem]]]:
    body = sa.Column("body", sa.String(32), sa.ForeignKey("body.digest"), nullable=True)
    yield "lot", [_text("name", index=True), _text("powder"), body]
    mass = sa.Column("mg", sa.BigInteger, nullable=False)
    yield "posting", [_text("place", 10), _text("name", index=True), mass]
    job = sa.Column("job", sa.Integer, sa.ForeignKey("job.id"), nullable=True)
    number = sa.Column("number", sa.Integer, nullable=False)
    facts = sa.Column("facts", sa.Text, nullable=False)
    yield "build", [_text("name", index=True), job, number, _text("powder"), facts]
    yield "piece", [*_piece(), *_places()]
    programme = sa.Column("programme", sa.Text, nullable=False)
    yield "load", [_text("name", index=True), _text("furnace"), programme]
    names = [_text("load", index=True), _text("box", index=True), _text("piece")]
    yield "fired", [*names, _text("tray"), _text("place"), *_places()]
    doubts = [_number("u"), _number("u_shared"), _number("u_shared_relative")]
    yield "instrument", [_text("name", index=True), _text("kind", 20), *doubts, _text("calibrated", 40)]
    yield "reading", [*_reading()]


def _piece() -> Iterator[SchemaItem]:
    yield _text("box", index=True)
    yield _text("label", index=True)
    yield _text("part", 200)
    yield sa.Column("number", sa.Integer, nullable=False)
    yield sa.Column("coupon", sa.Boolean, nullable=False)


def _reading() -> Iterator[SchemaItem]:
    yield _text("kind", 20, index=True)
    yield _text("state", 10)
    yield from (_number(name) for name in ("value", "u", "u_shared"))
    yield from (_text("instrument"), _text("unit", 20), _text("axis", 1), _text("feature"))
    yield sa.Column("nominal", sa.Float, nullable=True)
    yield from (_text("box"), _text("piece"), _text("part", 200))
    yield from (_text(name) for name in ("lot", "load", "tray", "place"))
    yield from _places()
    yield from (_text("taken", 40), _text("person"))
    yield sa.Column("corrects", sa.Integer, sa.ForeignKey("reading.id"), nullable=True, index=True)


def _text(name: str, length: int = 80, *, index: bool = False) -> SchemaItem:
    return sa.Column(name, sa.String(length), nullable=False, index=index)


def _number(name: str) -> SchemaItem:
    return sa.Column(name, sa.Float, nullable=False)


def _places() -> Iterator[SchemaItem]:
    for axis in "xyz":
        yield sa.Column(f"{axis}_mm", sa.Float, nullable=True)
