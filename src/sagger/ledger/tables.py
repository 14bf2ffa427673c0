"""The tables. Facts get columns, bodies are JSON by digest, arrays are files named by digest.

Nothing is edited but the state of a job while it runs, and sessions, which end; a correction is a new row
that names the old one.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    false,
)
from sqlalchemy.schema import SchemaItem

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_name)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
metadata = MetaData(naming_convention=NAMES)

body = Table(
    "body",
    metadata,
    Column("digest", String(32), primary_key=True),  # of the good
    Column("json", Text, nullable=False),
    Column("said", String(32), nullable=False, server_default=""),  # digest of the JSON itself
)

job = Table(
    "job",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", String(200), nullable=False),
    Column("order_digest", String(32), nullable=False, index=True),
    Column("folder", Text, nullable=False),
    Column("state", String(12), nullable=False),  # waiting, running, done, stopped, cancelled, failed, …
    Column("host", String(80), nullable=False, server_default=""),  # where that process runs
    Column("process", Integer, nullable=False),
    Column("process_began", String(40), nullable=False),
    Column("began", String(40), nullable=False),
    Column("ended", String(40), nullable=False, server_default=""),
    Column("edition", String(20), nullable=False),
    Column("start", String(40), nullable=False),
    Column("message", Text, nullable=False, server_default=""),
    Column("plan_digest", String(32), ForeignKey("body.digest"), nullable=True),
    Column("version", Integer, nullable=True),  # of an order kept by the desk; none for a file elsewhere
    Column("person", String(80), nullable=False, server_default=""),  # who asked for it
    Column("step", String(40), nullable=False, server_default=""),  # room at work, e.g. "nest"
    Column("doing", String(200), nullable=False, server_default=""),
    Column("done", Integer, nullable=False, server_default="0"),
    Column("total", Integer, nullable=False, server_default="0"),  # 0 = not known
    Column("stop", Boolean, nullable=False, server_default=false()),  # a person said stop
    Column("improving", Boolean, nullable=False, server_default=false()),  # it has a good answer already
    Column("enough", Boolean, nullable=False, server_default=false()),  # a person said that this will do
)

version = Table(
    "version",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("thread", Integer, nullable=False, index=True),  # id of the first version of the order
    Column("number", Integer, nullable=False),  # 1, 2, … within the thread
    Column("parent", Integer, ForeignKey("version.id"), nullable=True),
    Column("name", String(200), nullable=False),
    Column("folder", Text, nullable=False),
    Column("changes", Text, nullable=False, server_default="[]"),  # JSON list: what differs from the parent
    Column("person", String(80), nullable=False),
    Column("made", String(40), nullable=False),
    Column("said", String(32), nullable=False, server_default=""),  # digest of the row, see `sayings`
)

person = Table(
    "person",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", String(80), nullable=False, index=True),
    Column("role", String(12), nullable=False),  # look, plan, approve; "" = closed
    Column("secret", Text, nullable=False),  # salt and hash, never the word itself
    Column("made", String(40), nullable=False),
    Column("replaces", Integer, ForeignKey("person.id"), nullable=True),
)

session = Table(
    "session",
    metadata,
    Column("digest", String(64), primary_key=True),  # of the cookie
    Column("person", Integer, ForeignKey("person.id"), nullable=False),
    Column("made", String(40), nullable=False),
    Column("ends", String(40), nullable=False),
)

work = Table(
    "work",
    metadata,
    Column("key", String(32), primary_key=True),
    Column("verb", String(120), nullable=False),
    Column("edition", String(20), nullable=False),
    Column("inputs", Text, nullable=False),  # JSON list of digests
    Column("output", String(32), ForeignKey("body.digest"), nullable=False),
    Column("began", String(40), nullable=False),
    Column("seconds", Float, nullable=False),
    Column("said", String(32), nullable=False, server_default=""),  # digest of the row, see `sayings`
)

use = Table(
    "use",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Integer, ForeignKey("job.id"), nullable=False, index=True),
    Column("key", String(32), ForeignKey("work.key"), nullable=False),
    Column("remembered", Boolean, nullable=False),
)

seal = Table(  # of accounts and of what jobs came to, see `seals`
    "seal",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("subject", String(10), nullable=False),  # account, job, tidied
    Column("row", Integer, nullable=False),  # id of the person or job
    Column("facts", Text, nullable=False),  # JSON
    Column("at", String(40), nullable=False),
    Column("knot", Integer, nullable=True),  # the newest entry of the book at that time, and its digest
    Column("knot_digest", String(32), nullable=False),
    Column("before", String(32), nullable=False),
    Column("digest", String(32), nullable=False),
)

# From here on: the book. Every row belongs to an entry, entries are only added, and each entry's digest
# covers its rows and the digest of the entry before.

entry = Table(
    "entry",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("what", String(20), nullable=False, index=True),  # receive, sieve, blend, charge, readings ...
    Column("person", String(80), nullable=False),
    Column("note", Text, nullable=False),
    Column("at", String(40), nullable=False),
    Column("corrects", Integer, ForeignKey("entry.id"), nullable=True, index=True),
    Column("before", String(32), nullable=False),  # digest of the entry before; "" for the first
    Column("digest", String(32), nullable=False),
)


def _of_entry(name: str, *columns: SchemaItem) -> Table:
    return Table(
        name,
        metadata,
        Column("id", Integer, primary_key=True),
        Column("entry", Integer, ForeignKey("entry.id"), nullable=False, index=True),
        *columns,
    )


def _text(name: str, length: int = 80, *, index: bool = False) -> Column[str]:
    return Column(name, String(length), nullable=False, index=index)


def _number(name: str) -> Column[float]:
    return Column(name, Float, nullable=False)


def _place(prefix: str) -> tuple[SchemaItem, ...]:
    return tuple(Column(f"{prefix}{axis}_mm", Float, nullable=True) for axis in "xyz")


lot = _of_entry(
    "lot",
    _text("name", index=True),
    _text("powder"),
    Column("body", String(32), ForeignKey("body.digest"), nullable=True),  # the Lot as measured, if it was
)

posting = _of_entry(
    "posting",
    _text("place", 10),  # outside, lot, box, pieces, scrap, lost
    _text("name", index=True),  # of the lot or box; "" for the others
    Column("mg", BigInteger, nullable=False),  # gained, in milligrams; the postings of an entry sum to 0
)

build = _of_entry(
    "build",
    _text("name", index=True),
    Column("job", Integer, ForeignKey("job.id"), nullable=True),
    Column("number", Integer, nullable=False),  # which box of the job, from 1
    _text("powder"),
    Column("facts", Text, nullable=False),  # JSON: factors, cards, editions of the plan it was printed from
)

piece = _of_entry(
    "piece",
    _text("box", index=True),
    _text("label", index=True),
    _text("part", 200),
    Column("number", Integer, nullable=False),  # which copy in the order, from 1
    Column("coupon", Boolean, nullable=False),
    *_place(""),
)

load = _of_entry(
    "load",
    _text("name", index=True),
    _text("furnace"),
    Column("programme", Text, nullable=False),
)

fired = _of_entry(
    "fired",
    _text("load", index=True),
    _text("box", index=True),
    _text("piece"),
    _text("tray"),
    _text("place"),
    *_place(""),
)

instrument = _of_entry(
    "instrument",
    _text("name", index=True),
    _text("kind", 20),
    Column("u", Float, nullable=False),
    Column("u_shared", Float, nullable=False),
    Column("u_shared_relative", Float, nullable=False),
    _text("calibrated", 40),
)

reading = _of_entry(
    "reading",
    _text("kind", 20, index=True),
    _text("state", 10),
    Column("value", Float, nullable=False),
    Column("u", Float, nullable=False),
    Column("u_shared", Float, nullable=False),
    _text("instrument"),
    _text("unit", 20),
    _text("axis", 1),
    _text("feature"),
    Column("nominal", Float, nullable=True),
    _text("box"),
    _text("piece"),
    _text("part", 200),
    _text("lot"),
    _text("load"),
    _text("tray"),
    _text("place"),
    *_place(""),
    _text("taken", 40),
    _text("person"),
    Column("corrects", Integer, ForeignKey("reading.id"), nullable=True, index=True),
    Index("ix_reading_box_piece", "box", "piece"),
)

learned = _of_entry(
    "learned",
    _text("kind", 10, index=True),  # proposal, map, scatter; a map or scatter in an approval is in force
    _text("material"),
    _text("box"),  # card; "" where the bed was not mapped
    Column("body", String(32), ForeignKey("body.digest"), nullable=False),
)

cell = _of_entry(
    "cell",
    _text("kind", 10, index=True),  # order, promise, event, plan
    _text("name", 200, index=True),  # of the order, or what the event is about
    Column("body", String(32), ForeignKey("body.digest"), nullable=False),
)

approval = _of_entry(
    "approval",
    _text("subject", 10),  # factors, proposal, plan
    Column("reason", Text, nullable=False),
    _text("made", 40),  # when the person approved it; an older ledger's approvals were entered later
    Column("job", Integer, ForeignKey("job.id"), nullable=True, index=True),
    Column("plan_digest", String(32), ForeignKey("body.digest"), nullable=True),
    Column("proposal", Integer, ForeignKey("entry.id"), nullable=True),
)

factors = _of_entry(
    "factors",
    _text("material", index=True),
    _text("lot"),  # "" = for every lot
    *(_number(f"{name}_{axis}") for name in ("k", "u") for axis in "xyz"),
    Column("replaces", Integer, ForeignKey("entry.id"), nullable=True),
)

conditions = _of_entry(  # of the factors of the same entry; no row where nobody knows them
    "conditions",
    Column("basis", Text, nullable=False),
    *(_text(name) for name in ("powder", "lot", "binder", "head", "box", "furnace")),
    *(_number(name) for name in ("green_density", "green_density_u", "grain", "layer", "saturation")),
    Column("programme", Text, nullable=False),  # JSON: its stretches
    *(_number(name) for name in ("density", "density_u")),
    Column("density_from", String(10), nullable=False, server_default="law"),  # law, card, measured
)

withdrawal = _of_entry(
    "withdrawal",
    Column("approval", Integer, ForeignKey("entry.id"), nullable=False, index=True),
    Column("reason", Text, nullable=False),
)

voided = _of_entry(
    "voided",
    Column("reading", Integer, ForeignKey("reading.id"), nullable=False, index=True),
    Column("reason", Text, nullable=False),
)
