"""Sound files of every kind, changed until they are not, through every reader; what is accepted is looked at twice."""

from __future__ import annotations

import io
import os
import random
import resource
import shutil
import signal
import struct
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from pathlib import Path

import numpy as np
import trimesh

from sagger.errors import SaggerError
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
from sagger.goods.reading import Instrument
from soaking import second
from soaking.shop import LIBRARY

MEMORY, SECONDS = 2 << 30, 60.0
EXAMPLES = Path(__file__).parents[2] / "examples"
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
    parts = Path(__file__).parents[3] / "shared" / "parts" / "featuretype.STEP"
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
    if code == 2:
        sys.stderr.write(f"{kind}: {words}\n")
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
            return code or _looked_at_twice(kind, path, answer, said)
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


def _looked_at_twice(kind: str, path: Path, answer: Path, said: Path) -> int:
    """0 if other methods agree with what was read, 2 if not."""
    fault = second.disagrees(kind.partition(" ")[0], path, guarded._unpacked(answer))
    said.write_text(fault)
    return 2 if fault else 0
