"""Jobs tell how far they are; versions of orders, approvals, people and their sessions."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.add_column("job", sa.Column("version", sa.Integer, nullable=True))
    op.add_column("job", sa.Column("person", sa.String(80), nullable=False, server_default=""))
    op.add_column("job", sa.Column("step", sa.String(40), nullable=False, server_default=""))
    op.add_column("job", sa.Column("doing", sa.String(200), nullable=False, server_default=""))
    op.add_column("job", sa.Column("done", sa.Integer, nullable=False, server_default="0"))
    op.add_column("job", sa.Column("total", sa.Integer, nullable=False, server_default="0"))
    op.add_column("job", sa.Column("stop", sa.Boolean, nullable=False, server_default=sa.false()))
    _versions()
    _people()


def _versions() -> None:
    op.create_table(
        "version",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("thread", sa.Integer, nullable=False, index=True),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("parent", sa.Integer, sa.ForeignKey("version.id"), nullable=True),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("folder", sa.Text, nullable=False),
        sa.Column("changes", sa.Text, nullable=False, server_default="[]"),
        sa.Column("person", sa.String(80), nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
    )
    op.create_table(
        "approval",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("job", sa.Integer, sa.ForeignKey("job.id"), nullable=False, index=True),
        sa.Column("plan_digest", sa.String(32), sa.ForeignKey("body.digest"), nullable=False),
        sa.Column("person", sa.String(80), nullable=False),
        sa.Column("note", sa.Text, nullable=False, server_default=""),
        sa.Column("made", sa.String(40), nullable=False),
    )


def _people() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.String(80), nullable=False, index=True),
        sa.Column("role", sa.String(12), nullable=False),
        sa.Column("secret", sa.Text, nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
        sa.Column("replaces", sa.Integer, sa.ForeignKey("person.id"), nullable=True),
    )
    op.create_table(
        "session",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("person", sa.Integer, sa.ForeignKey("person.id"), nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
        sa.Column("ends", sa.String(40), nullable=False),
    )
