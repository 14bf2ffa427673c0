"""One kind of approval, sealed: what was approved outside the seal gets entries at the end of the book."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.schema import SchemaItem

revision = "0006"
down_revision = "0005"

NOTE = "approved outside the seal by an edition before; entered as it stood"
Row = Mapping[str, Any]
Sealed = tuple[str, Sequence[tuple[object, ...]]]  # a table and rows in the order of its columns


def upgrade() -> None:
    connection = op.get_bind()
    plans, factors = (_taken(connection, name) for name in ("approval", "factors"))
    for name in ("approval", "factors"):
        op.drop_table(name)
    _tables()
    before: dict[int, int | None] = {0: None}  # entry by the number that factors had until now
    for row in factors:
        before[row["id"]] = _factors(connection, row, before)
    for row in plans:
        _approval(connection, row, "plan", row["note"], row["made"], job=row["job"], plan=row["plan_digest"])


def _taken(connection: sa.Connection, name: str) -> list[Row]:
    return [dict(row) for row in connection.execute(sa.text(f"SELECT * FROM {name} ORDER BY id")).mappings()]


def _factors(connection: sa.Connection, row: Row, before: Mapping[int, int | None]) -> int:
    """Entry of one row of factors, and of the proposal that its reason names."""
    number = _next(connection, "factors")
    sizes = tuple(float(row[f"{name}_{axis}"]) for name in ("k", "u") for axis in "xyz")
    proposal = _proposal(connection, row["reason"])
    entry = _next(connection, "entry")
    values = (number, entry, row["material"], row["lot"], *sizes, before[row["replaces"] or 0])
    subject = "proposal" if proposal else "factors"
    return _approval(
        connection, row, subject, row["reason"], row["approved"], proposal=proposal, factors=values
    )


def _proposal(connection: sa.Connection, reason: str) -> int | None:
    """Until now an approved proposal stood at the end of the reason."""
    word = reason.rpartition("(proposal ")[2].rstrip(")")
    if not reason.endswith(f"(proposal {word})") or not word.isdigit():
        return None
    query = "SELECT id FROM entry WHERE id = :number AND what = 'proposal'"
    number: int | None = connection.execute(sa.text(query), {"number": int(word)}).scalar()
    return number


def _approval(connection: sa.Connection, row: Row, subject: str, reason: str, made: str, **of: Any) -> int:
    entry, number = _next(connection, "entry"), _next(connection, "approval")
    values = (number, entry, subject, reason, made, of.get("job"), of.get("plan"), of.get("proposal"))
    rows: list[Sealed] = [("approval", [values])]
    if "factors" in of:  # first, as the book looks them through
        rows.insert(0, ("factors", [of["factors"]]))
    last = connection.execute(sa.text("SELECT digest FROM entry ORDER BY id DESC LIMIT 1")).scalar() or ""
    head = {
        "id": entry,
        "what": "approval",
        "person": row["person"],
        "note": NOTE,
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "corrects": None,
        "before": last,
    }
    _put(connection, "entry", tuple({**head, "digest": _seal(head, rows)}.items()))
    for name, (sealed,) in rows:
        columns = [column["name"] for column in sa.inspect(connection).get_columns(name)]
        _put(connection, name, tuple(zip(columns, sealed, strict=True)))
    return entry


def _put(connection: sa.Connection, name: str, cells: tuple[tuple[str, object], ...]) -> None:
    columns = ", ".join(f'"{column}"' for column, _ in cells)
    places = ", ".join(f":{column}" for column, _ in cells)
    connection.execute(sa.text(f'INSERT INTO "{name}" ({columns}) VALUES ({places})'), dict(cells))


def _next(connection: sa.Connection, name: str) -> int:
    return (connection.execute(sa.text(f"SELECT max(id) FROM {name}")).scalar() or 0) + 1


def _seal(head: Mapping[str, object], rows: Sequence[Sealed]) -> str:
    """As entries are sealed, tables in the order in which the book is looked through."""
    state = hashlib.blake2b(digest_size=16)
    state.update(json.dumps(sorted(head.items())).encode())
    for name, values in rows:
        state.update(name.encode())
        state.update(json.dumps(values).encode())
    return state.hexdigest()


def _tables() -> None:
    _of_entry(
        "approval",
        _text("subject", 10),
        sa.Column("reason", sa.Text, nullable=False),
        _text("made", 40),
        sa.Column("job", sa.Integer, sa.ForeignKey("job.id"), nullable=True, index=True),
        sa.Column("plan_digest", sa.String(32), sa.ForeignKey("body.digest"), nullable=True),
        sa.Column("proposal", sa.Integer, sa.ForeignKey("entry.id"), nullable=True),
    )
    _of_entry(
        "factors",
        _text("material", 80, index=True),
        _text("lot"),
        *(_number(f"{name}_{axis}") for name in ("k", "u") for axis in "xyz"),
        sa.Column("replaces", sa.Integer, sa.ForeignKey("entry.id"), nullable=True),
    )
    _of_entry(
        "conditions",
        sa.Column("basis", sa.Text, nullable=False),
        *(_text(name) for name in ("powder", "lot", "binder", "head", "box", "furnace")),
        *(_number(name) for name in ("green_density", "green_density_u", "grain", "layer", "saturation")),
        sa.Column("programme", sa.Text, nullable=False),
        *(_number(name) for name in ("density", "density_u")),
    )
    for name, of, table in (("withdrawal", "approval", "entry"), ("voided", "reading", "reading")):
        _of_entry(
            name,
            sa.Column(of, sa.Integer, sa.ForeignKey(f"{table}.id"), nullable=False, index=True),
            sa.Column("reason", sa.Text, nullable=False),
        )


def _of_entry(name: str, *columns: SchemaItem) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("entry", sa.Integer, sa.ForeignKey("entry.id"), nullable=False, index=True),
        *columns,
    )


def _text(name: str, length: int = 80, *, index: bool = False) -> SchemaItem:
    return sa.Column(name, sa.String(length), nullable=False, index=index)


def _number(name: str) -> SchemaItem:
    return sa.Column(name, sa.Float, nullable=False)
