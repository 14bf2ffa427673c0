"""A strand of seals for accounts and for what jobs came to; what is there is sealed as it stands."""

import hashlib
import json
from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    op.create_table(
        "seal",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("subject", sa.String(10), nullable=False),
        sa.Column("row", sa.Integer, nullable=False),
        sa.Column("facts", sa.Text, nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("knot", sa.Integer, nullable=True),
        sa.Column("knot_digest", sa.String(32), nullable=False),
        sa.Column("before", sa.String(32), nullable=False),
        sa.Column("digest", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_seal"),
    )
    connection = op.get_bind()
    rows = [*_accounts(connection), *_jobs(connection)]
    at, before = datetime.now(UTC).isoformat(timespec="seconds"), ""
    newest = connection.execute(sa.text("SELECT id, digest FROM entry ORDER BY id DESC LIMIT 1")).first()
    for number, (subject, row, facts) in enumerate(rows, 1):
        head = {
            "id": number,
            "subject": subject,
            "row": row,
            "facts": json.dumps(facts, sort_keys=True),
            "at": at,
            "knot": newest.id if newest else None,
            "knot_digest": newest.digest if newest else "",
            "before": before,
        }
        before = hashlib.blake2b(json.dumps(sorted(head.items())).encode(), digest_size=16).hexdigest()
        names = ", ".join(f'"{name}"' for name in (*head, "digest"))
        values = ", ".join(f":{name}" for name in (*head, "digest"))
        connection.execute(
            sa.text(f"INSERT INTO seal ({names}) VALUES ({values})"), head | {"digest": before}
        )


def _accounts(connection: sa.Connection) -> list[tuple[str, int, dict[str, object]]]:
    rows = connection.execute(
        sa.text("SELECT id, name, role, secret, made, replaces FROM person ORDER BY id")
    ).all()
    return [
        (
            "account",
            row.id,
            {
                "name": row.name,
                "role": row.role,
                "secret": hashlib.blake2b(row.secret.encode(), digest_size=16).hexdigest(),
                "made": row.made,
                "replaces": row.replaces,
            },
        )
        for row in rows
    ]


def _jobs(connection: sa.Connection) -> list[tuple[str, int, dict[str, object]]]:
    query = "SELECT id, state, order_digest, plan_digest FROM job "
    query += "WHERE state NOT IN ('waiting', 'running') ORDER BY id"
    used = 'SELECT w."key", w.edition, w.output FROM "use" u JOIN work w ON u."key" = w."key" '
    used += "WHERE u.job = :job ORDER BY u.id"
    made: list[tuple[str, int, dict[str, object]]] = []
    for row in connection.execute(sa.text(query)).all():
        state, count = hashlib.blake2b(digest_size=16), 0
        for work in connection.execute(sa.text(used), {"job": row.id}):
            state.update(json.dumps(list(work)).encode())
            count += 1
        facts = {
            "state": row.state,
            "order": row.order_digest,
            "plan": row.plan_digest or "",
            "works": state.hexdigest(),
            "count": count,
        }
        made.append(("job", row.id, facts))
    return made
