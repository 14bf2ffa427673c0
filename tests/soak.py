# ruff: noqa: E501, PLR0915, BLE001  # tables of tries read better on one line; whatever is raised is what is sought
"""Hostile files, kills, damaged and edited ledgers, many writers, a full disk: `make soak`, and shorter in the suite.

`python tests/soak.py --seconds 2700 --seed 1 --files 10000 --kills 1000 --ledgers 60` prints JSON of counts. Each
kind of try gets its share of the time; what was not reached is told by its count. Other seeds try other files.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import random
import resource
import shutil
import signal
import sqlite3
import struct
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from contextlib import closing
from pathlib import Path

import numpy as np
import trimesh

from sagger.errors import LedgerError, SaggerError
from sagger.files import (
    coupons,
    guarded,
    lot,
    measured,
    order,
    ovenrun,
    readings,
    runs,
    thermobalance,
    threemf,
)
from sagger.geometry.surface import mesh
from sagger.goods.reading import Instrument

MEMORY, SECONDS = 2 << 30, 60.0
LIBRARY = (
    "Traceback",
    "Error:",
    "Exception",
    "errno",
    "sqlalchemy",
    "sqlite3.",
    "(Background",
    "codec",
    "numpy",
)
EXAMPLES = Path(__file__).parents[1] / "examples"
INSTRUMENTS = {
    "calliper": Instrument(
        name="calliper", kind="length", u=1e-5, u_shared=0.0, u_shared_relative=0.0, calibrated=""
    )
}
TABLES = {
    "readings": ("box,piece,kind,state,value,u\nB,1,length,green,20.1 mm,0.01 mm\nB,2,mass,green,12 g,0.1 g\n", lambda path: readings.read(path, INSTRUMENTS)),
    "size curve": ("size_um,finer_percent\n5,2\n16,50\n40,98\n", measured.curve),
    "sieve": ("opening_um,retained\n53,12.4\n32,40\n0,3.1\n", measured.curve),
    "coupons": ("coupon,kind,firing,x_green_mm,y_green_mm,z_green_mm,x_mm,y_mm,z_mm\na,cube,f1,20,20,20,17,17,17\n", lambda path: list(coupons.coupons(path)[0])),
    "firings": ("firing,rate_K_per_min,target_degC,hold_min\nf1,5,1360,60\n", coupons.firings),
    "dilatometer": ("run,time_min,temperature_degC,shrinkage_percent\na,0,20,0\na,10,500,1\na,20,900,5\n", coupons.runs),
    "thermobalance": ("run,time_min,temperature_degC,mass_percent\n" + "".join(f"{r},{k},{20 + 5 * k * int(r)},{100 - k / 9}\n" for r in "123" for k in range(12)), thermobalance.read),
    "oven": ("time_min,wall_degC,core_degC\n" + "".join(f"{k},{20 + 3 * k},{20 + k}\n" for k in range(30)), ovenrun.read),
    "runs": ("key,what,measured,measured_u\na,length,1.0,0.1\n", runs.read),
}  # fmt: skip
NASTY = (b"", b"\0", b"nan", b"inf", b"-1", b"1e400", b"9" * 60, b"9" * 5000, b"\xff\xfe", b"\xc3", b'"', b"'", b"[" * 300, b"\n",
         b"../../../etc/passwd", b"=1+1", b",,,,,", b";", b"\t", "µ±°".encode(), b"1,5", b"0x10", b"1_0", b"#", b"\r", b"None")  # fmt: skip


def seeds_of(folder: Path) -> dict[str, tuple[str, bytes, object]]:
    """Sound files of every kind: ending, content, and what reads it."""
    box, ball = trimesh.creation.box((20, 12, 8)), trimesh.creation.icosphere(1, 6)
    ring = trimesh.creation.annulus(3, 7, 5, sections=16)
    packed = folder / "seed.3mf"
    packed.write_bytes(_package(ring))
    made: dict[str, tuple[str, bytes, object]] = {
        "STL": (".stl", ball.export(file_type="stl"), None),
        "STL ascii": (".stl", box.export(file_type="stl_ascii").encode(), None),
        "OBJ": (".obj", ring.export(file_type="obj").encode(), None),
        "PLY": (".ply", ball.export(file_type="ply"), None),
        "PLY ascii": (".ply", box.export(file_type="ply", encoding="ascii"), None),
        "3MF": (".3mf", packed.read_bytes(), None),
    }
    parts = Path(__file__).parents[2] / "shared" / "parts" / "featuretype.STEP"
    if parts.exists():
        made["STEP"] = (".step", parts.read_bytes(), None)
    for name, (text, read) in TABLES.items():
        made[name] = (".csv", text.encode(), read)
    made["order"] = (".toml", (EXAMPLES / "order-metal.toml").read_bytes(), order.tables)
    made["lot"] = (".toml", (EXAMPLES / "lot-316l.toml").read_bytes(), lot.read)
    from sagger.cards.read import SHIPPED, load

    made["card"] = (".toml", (SHIPPED / "powders" / "steel-316l.toml").read_bytes(),
                    lambda path: load("powder", path.stem, (path.parent.parent,)))  # fmt: skip
    return made


def _package(solid: trimesh.Trimesh) -> bytes:
    """A 3MF package with one solid."""
    corners = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in solid.vertices)
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in solid.faces)
    body = f"<mesh><vertices>{corners}</vertices><triangles>{faces}</triangles></mesh>"
    model = f'<model xmlns="{threemf.CORE}" unit="millimeter"><resources><object id="1">{body}</object></resources>'
    model += '<build><item objectid="1"/></build></model>'
    rels = '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    rels += f'<Relationship Id="r" Target="/m" Type="{threemf.START_PART}"/></Relationships>'
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("_rels/.rels", rels)
        package.writestr("m", model)
    return out.getvalue()


def mutated(rng: random.Random, data: bytes, binary: bool) -> bytes:
    """Bytes changed, cut, doubled, moved, or replaced by what readers stumble over."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 1, 2, 4, 12))):
        at = rng.randrange(len(out) + 1) if out else 0
        end = min(len(out), at + rng.choice((1, 1, 2, 4, 8, 64, 400)))
        way = rng.randrange(7)
        if way == 0 and out:
            out[min(at, len(out) - 1)] ^= 1 << rng.randrange(8)
        elif way == 1:
            del out[at:end]
        elif way == 2:
            out[at:at] = out[at:end] * rng.choice((1, 2, 50))
        elif way == 3:
            out[at:end] = rng.choice(NASTY)
        elif way == 4:
            out[at:at] = rng.choice(NASTY)
        elif way == 5 and binary:
            out[at:at + 4] = struct.pack("<f", rng.choice((np.nan, np.inf, -1e38, 0.0, 1e-40, 3.4e38)))  # fmt: skip
        elif way == 6:
            lines = bytes(out).split(b"\n")
            rng.shuffle(lines) if len(lines) < 400 and rng.random() < 0.3 else lines.insert(
                rng.randrange(len(lines)), rng.choice(lines)
            )
            out = bytearray(b"\n".join(lines))
    return bytes(out[: 4 << 20])


def hostile(rng: random.Random, count: int, until: float) -> Counter[str]:
    """Mutated files of every kind through the readers, each in a process that may crash, hang or swell."""
    done: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        seeds = seeds_of(folder)
        kinds = list(seeds)
        if "STEP" in seeds:
            from sagger.files import step  # noqa: F401  # warm before the forks
        for number in range(count):
            if time.monotonic() > until:
                break
            kind = kinds[number % len(kinds)]
            ending, data, read = seeds[kind]
            if kind == "STEP" and number % (len(kinds) * 12) >= len(kinds):
                kind = "STL"  # the kernel takes seconds a file: one in twelve of its turns
                ending, data, read = seeds[kind]
            (folder / "powders").mkdir(exist_ok=True)
            path = folder / ("powders" if kind == "card" else ".") / f"hostile{ending}"
            path.write_bytes(mutated(rng, data, ending in (".stl", ".ply", ".3mf")))
            verdict = _tried(kind, path, read, folder / "answer.npz")
            done[verdict] += 1
            done["tries"] += 1
            if verdict not in ("accepted", "refused"):
                keep = Path(tempfile.gettempdir()) / f"soak-{verdict.replace(' ', '-')}-{number}{ending}"
                shutil.copy(path, keep)
                done[f"kept {keep}"] += 1
    return done


def _tried(kind: str, path: Path, read: object, answer: Path) -> str:
    """What came of one file: accepted, refused, traceback, library word, too long, too large, crash contained."""
    answer.unlink(missing_ok=True)
    said = answer.with_name("said.txt")
    child = os.fork()
    if not child:
        os._exit(_child(kind, path, read, answer, said))
    _, status, used = os.wait4(child, 0)
    if used.ru_utime + used.ru_stime > SECONDS:
        return "over 60 s"
    if used.ru_maxrss > MEMORY >> 10:
        return "over 2 GB"
    if os.WIFSIGNALED(status):
        return "crash contained" if os.WTERMSIG(status) != signal.SIGXCPU else "stopped at its limit of time"
    code = os.WEXITSTATUS(status)
    words = said.read_text("utf-8", "replace") if said.exists() else ""
    if code == 1 or "Traceback" in words:
        sys.stderr.write(words[-1500:])
        return "traceback"
    if any(word in words for word in LIBRARY):
        sys.stderr.write(words[-300:])
        return "library word"
    return {0: "accepted", 2: "disagrees", 3: "refused", 4: "refused"}.get(code, "strange end")


def _child(kind: str, path: Path, read: object, answer: Path, said: Path) -> int:
    signal.signal(signal.SIGXCPU, signal.SIG_DFL)
    devnull = os.open(os.devnull, os.O_WRONLY)
    os.dup2(devnull, 1), os.dup2(devnull, 2)
    try:
        if read is None:
            code = guarded.main(
                kind.partition(" ")[0], str(path), str(answer), str(MEMORY), str(SECONDS / 2), "0.05"
            )
            said.write_text(answer.read_text("utf-8") if code == guarded.REFUSED else "")
            return code if code or _agrees(kind, path, answer) else 2
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        read(path)  # type: ignore[operator]
        said.write_text("")
        return 0
    except SaggerError as error:
        said.write_text(str(error))
        return 3
    except MemoryError:
        return 4
    except BaseException:  # whatever it is: it is what is looked for
        said.write_text(traceback.format_exc())
        return 1


def _agrees(kind: str, path: Path, answer: Path) -> bool:
    """Whether a second reader finds the same volume, where it can read the file at all."""
    ours = sum(mesh.volume(body.shape) for body in guarded._unpacked(answer).bodies)
    if kind not in ("STL", "STL ascii", "OBJ", "PLY", "PLY ascii"):
        return True
    try:
        with contextlib.redirect_stderr(io.StringIO()), np.errstate(all="ignore"):
            other = trimesh.load_mesh(path, process=False, skip_materials=True)
            theirs = float(other.volume)
            area, size = float(other.area), float(np.ptp(other.vertices, axis=0).max())
    except Exception:  # the second reader is no reader of ours
        return True
    # An open surface has no volume but that of its rim and the origin: it is told as open elsewhere.
    return (
        not np.isfinite(theirs) or not other.is_watertight or abs(ours - theirs) <= 1e-5 * area * size + 1e-9
    )


def commands(rng: random.Random) -> list[list[str]]:
    """Every command that writes, with words that fit the shop below."""
    who = ["--person", "A. Person"]
    n = rng.randrange(10**9)
    return [
        ["lots", "charge", f"box {n}", "--of", "L=2 kg", *who],
        ["lots", "scrap", "L", "--mass", f"{1 + n % 900} g", *who],
        ["lots", "sieve", "L", f"sieved {n}", "--passed", "1.9 kg", "--taken", "2 kg", *who],
        ["lots", "blend", f"blend {n}", "--of", "L=1 kg", "--of", "M=1 kg", *who],
        ["factors", "approve", "steel-316l", "--k", f"1.19{n % 9}", "1.193", "1.228", "--u", "0.002", "0.002", "0.002", "--reason", f"coupons {n}", *who],
        ["readings", "instrument", f"calliper {n}", "--u", "0.005 mm", *who],
        ["readings", "enter", "B", f"p{n}", "kind=length", "state=green", "value=20.1 mm", "u=0.01 mm", *who],
    ]  # fmt: skip


def kills(rng: random.Random, count: int, until: float) -> Counter[str]:
    """Commands killed at random moments; then the ledger is looked at, and the same command given again."""
    done: Counter[str] = Counter()

    with tempfile.TemporaryDirectory() as name:
        os.environ["SAGGER_HOME"] = str(Path(name) / "home")
        _shop()
        from sagger.desk import home
        from sagger.ledger import entries, lots, tables

        span = 0.5
        while done["kills"] < count and time.monotonic() < until:
            for words in rng.sample(commands(rng), min(7, count)):
                before = _entries(home.ledger(), tables)
                began = time.monotonic()
                child = os.fork()
                if not child:
                    os._exit(_run(words))
                _wait(rng, span, Path(os.environ["SAGGER_HOME"]) / "ledger.sqlite-wal", child)
                with contextlib.suppress(ProcessLookupError):
                    os.kill(child, signal.SIGKILL)
                _, status = os.waitpid(child, 0)
                if not os.WIFSIGNALED(status):
                    span = max(0.02, min(span, time.monotonic() - began))
                    done["too late"] += 1
                    continue
                span = min(5.0, span * 1.1)
                done["kills"] += 1
                book = home.ledger()
                try:
                    entries.check(book)
                    done["lost or torn"] += abs(lots.account(book).gap) > 1e-9
                except LedgerError as error:
                    done["broken"] += 1
                    sys.stderr.write(f"{words}: {error}\n")
                after = _entries(book, tables)
                done["committed"] += after > before
                child = os.fork()
                if not child:
                    os._exit(_run(words))
                os.waitpid(child, 0)
                booked = _entries(book, tables) - before
                done["booked twice"] += booked > 1
                done["not booked when given again"] += booked < 1
                book.engine.dispose()
        done["left aside"] = len(list(Path(os.environ["SAGGER_HOME"]).glob(".new-*")))
    return done


def _wait(rng: random.Random, span: float, journal: Path, child: int) -> None:
    """Any moment of a command, or, every other time, just when it writes."""
    if rng.random() < 0.5:
        time.sleep(rng.random() * span)
        return
    before, until = _size(journal), time.monotonic() + 10
    while _size(journal) == before and time.monotonic() < until and not _over(child):
        time.sleep(2e-4)
    time.sleep(rng.random() * rng.choice((4e-3, 4e-2)))


def _size(path: Path) -> int:
    return path.stat().st_size if path.exists() else 0


def _over(child: int) -> bool:
    """Whether a child has ended; its status is left to be asked for."""
    return os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT) is not None


def _shop() -> None:
    from sagger.desk import home
    from sagger.goods.lot import Lot
    from sagger.ledger import lots

    me = lots.Mover(person="A. Person")
    for name in ("L", "M"):
        book = home.ledger()
        lots.receive(book, Lot(name=name, powder="steel-316l", origin="received"), 1e5, me)
        book.engine.dispose()


def _entries(book, tables) -> int:
    with book.reading() as connection:
        count = len(connection.execute(tables.entry.select()).all())
    book.engine.dispose()  # nothing is to be open when the next child is made
    return count


def _run(words: list[str]) -> int:
    """One command as a shell would run it; 0 done, 2 refused, 1 a traceback."""
    from sagger import cli

    devnull = os.open(os.devnull, os.O_WRONLY)
    os.dup2(devnull, 1)
    sys.argv = ["sagger", *words]
    try:
        cli.main()
    except SystemExit as end:
        return int(end.code or 0)
    except BaseException:
        os.write(2, traceback.format_exc().encode())
        return 1
    return 0


def ledgers(rng: random.Random, count: int, until: float) -> Counter[str]:
    """Ledgers with a page damaged, and ledgers with a value edited: each is told, or holds what it held."""
    from sagger import ledger
    from sagger.ledger import people

    done: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        os.environ["SAGGER_HOME"] = str(home)
        _shop()
        book = ledger.open_at(home)
        people.put(book, "Ann", "approve", "aa:bb")
        for words in [each for _ in range(1 if count < 10 else 6) for each in commands(rng)]:
            child = os.fork()
            if not child:
                os._exit(_run(words))
            os.waitpid(child, 0)
        with book.engine.connect() as connection:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        book.engine.dispose()
        file = home / "ledger.sqlite"
        whole = file.read_bytes()
        before = _holds(file)
        for number in range(2 * count):
            if time.monotonic() > until:
                break
            for left in home.glob("ledger.sqlite-*"):
                left.unlink()
            file.write_bytes(whole)
            kind = _damage(file, rng, number) if number % 2 else _edit(file, rng)
            while number % 2 and _holds(file) == before:  # what fell over lies where nothing is kept
                done["damaged where nothing is kept, drawn again"] += 1
                file.write_bytes(whole)
                kind = _damage(file, rng, number)
            done[kind] += 1
            said = home / "said.txt"
            said.unlink(missing_ok=True)
            child = os.fork()
            if not child:
                os._exit(_proved(home, said))
            code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
            if code == 0:
                where = f" ({', '.join(LAST_EDIT)})" if kind == "edited" else ""
                same = _holds(file) == before
                done[f"{kind}: nothing in it changed" if same else f"{kind}: NOT TOLD{where}"] += 1
            elif code == 5:
                done[f"{kind}: told"] += 1
                done["library words"] += any(word in said.read_text() for word in LIBRARY)
            else:
                done["traceback"] += 1
                sys.stderr.write(said.read_text()[-1500:] if said.exists() else f"ended by {code}\n")
    return done


def _holds(file: Path) -> list[str]:
    """All that a ledger says; nothing where SQLite cannot read it any more."""
    try:
        with closing(sqlite3.connect(file)) as opened:
            return list(opened.iterdump())
    except (sqlite3.Error, UnicodeError):
        return []


def _proved(home: Path, said: Path) -> int:
    """In a child: 0 if the ledger holds, 5 if it is told that it does not, 1 with a traceback."""
    from sagger import ledger
    from sagger.ledger import proof

    try:
        proof.prove(ledger.open_at(home))
    except LedgerError as error:
        said.write_text(str(error))
        return 5
    except BaseException:
        said.write_text(traceback.format_exc())
        return 1
    return 0


def _damage(file: Path, rng: random.Random, number: int) -> str:
    data = bytearray(file.read_bytes())
    page = rng.randrange(len(data) // 4096) * 4096
    way = ("random page", "zero page", "one bit")[number // 2 % 3]
    if way == "one bit":
        data[page + rng.randrange(4096)] ^= 1 << rng.randrange(8)
    else:
        data[page : page + 4096] = rng.randbytes(4096) if way == "random page" else bytes(4096)
    file.write_bytes(data)
    return f"damaged, {way}"


LAST_EDIT = ["", "", ""]  # table, row and column of the newest edit
UNSEALED = {
    "session",
    "alembic_version",
    "use",
    "version",
    "work",
}  # sealed by what names them, or of no weight


def _edit(file: Path, rng: random.Random) -> str:
    """One value of one row changed by SQL, or a row deleted."""
    with closing(sqlite3.connect(file)) as opened:
        names = [row[0] for row in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        filled = [
            t
            for t in names
            if t not in UNSEALED and opened.execute(f'SELECT count(*) FROM "{t}"').fetchone()[0]
        ]
        table = rng.choice(filled)
        row = rng.choice(opened.execute(f'SELECT rowid FROM "{table}"').fetchall())[0]
        name = "deleted"
        if rng.random() < 0.2:
            opened.execute(f'DELETE FROM "{table}" WHERE rowid = {row}')
        else:
            columns = [each for each in opened.execute(f'PRAGMA table_info("{table}")') if not each[5]]
            column = rng.choice(columns)
            name = column[1]
            was = opened.execute(f'SELECT "{column[1]}" FROM "{table}" WHERE rowid = {row}').fetchone()[0]
            new = was + 1 if isinstance(was, int | float) else f"{was or ''}x"
            opened.execute(f'UPDATE "{table}" SET "{column[1]}" = ? WHERE rowid = {row}', (new,))
        opened.commit()
    LAST_EDIT[:] = [table, str(row), name]
    return "edited"


def writers(rng: random.Random, each: int) -> Counter[str]:
    """Twelve processes that write at once: none is refused, nothing is lost."""
    done: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name:
        os.environ["SAGGER_HOME"] = name
        _shop()
        from sagger.desk import home
        from sagger.ledger import entries, lots

        children = []
        for writer in range(12):
            child = os.fork()
            if not child:
                me = lots.Mover(person=f"writer {writer}")
                try:
                    for _ in range(each):
                        lots.scrap(home.ledger(), "L", 1.0, me)
                    os._exit(0)
                except BaseException:
                    traceback.print_exc()
                    os._exit(1)
            children.append(child)
        ends = [os.waitpid(child, 0)[1] for child in children]
        book = home.ledger()
        done["writers"], done["refused"] = 12, sum(end != 0 for end in ends)
        done["missing entries"] = 12 * each + 2 - entries.check(book).entries
        done["gap mg"] = round(lots.account(book).gap * 1e6)
        book.engine.dispose()
    return done


def soak(
    seed: int, seconds: float, *, files: int, kill: int, ledger: int, each: int
) -> dict[str, dict[str, int]]:
    """All of it, one kind after the other, each within its share of the time."""
    began = time.monotonic()
    rng = random.Random(seed)
    told = {"writers": writers(rng, each)}
    left = seconds - (time.monotonic() - began)
    told["ledgers"] = ledgers(rng, ledger, time.monotonic() + 0.1 * left)
    told["kills"] = kills(rng, kill, time.monotonic() + 0.6 * left)
    told["files"] = hostile(rng, files, began + seconds)
    return {name: dict(counts) for name, counts in told.items()}


def wrong(told: dict[str, dict[str, int]]) -> list[str]:
    """What must be nowhere, and is."""
    bad = {"files": ("traceback", "library word", "over 60 s", "over 2 GB", "strange end", "disagrees"),
           "kills": ("lost or torn", "broken", "booked twice", "not booked when given again"),
           "writers": ("refused", "missing entries", "gap mg"),
           "ledgers": ("traceback", "library words")}  # fmt: skip
    found = [
        f"{kind}: {word} {told[kind][word]}"
        for kind, words in bad.items()
        for word in words
        if told[kind].get(word)
    ]
    return found + [f"{word}: {count}" for word, count in told["ledgers"].items() if "NOT TOLD" in word]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    for name, usual in (
        ("seconds", 2700),
        ("seed", 1),
        ("files", 10_000),
        ("kills", 1000),
        ("ledgers", 60),
        ("each", 25),
    ):
        parser.add_argument(f"--{name}", type=int, default=usual)
    asked = parser.parse_args()
    began = time.monotonic()
    told = soak(
        asked.seed, asked.seconds, files=asked.files, kill=asked.kills, ledger=asked.ledgers, each=asked.each
    )
    used = (
        resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
        + resource.getrusage(resource.RUSAGE_SELF).ru_utime
    )
    print(
        json.dumps(
            vars(asked)
            | told
            | {"wrong": wrong(told), "wall_s": round(time.monotonic() - began), "cpu_s": round(used)},
            indent=1,
        )
    )
    return bool(wrong(told))


if __name__ == "__main__":
    sys.exit(main())
