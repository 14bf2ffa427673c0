"""How figures read for people: a few digits, the trade's unit, a space between."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from sagger.goods.dose import Dose
from sagger.goods.finding import Finding
from sagger.goods.order import Tolerance
from sagger.goods.part import Part
from sagger.goods.sag import Sag
from sagger.units import into

NOTICE = (
    "Planning aid, not a safety assessment. "
    "Follow the SDS, the equipment manual, your risk assessment and local law."
)
_SIGNS = {"um": "µm", "degC": "°C", "m3": "m³", "mm3": "mm³", "cm3": "cm³", "g/cm3": "g/cm³"}
_SIGN = re.compile(rf"(?<=\d )(?:{'|'.join(sorted(map(re.escape, _SIGNS), key=len, reverse=True))})(?![\w/])")
_NOISELESS = 10  # digits of a converted figure: enough for any use, and free of 0.1 + 0.2
LEVEL_WORDS = {"stop": "STOP", "look": "LOOK", "ok": "ok"}


def digits(value: float, count: int = 3) -> str:
    """A number with `count` significant digits, never in powers of ten: 0.0123, 12.3, 1 234."""
    if not math.isfinite(value):
        return "–"
    if value == 0:
        return "0"
    power = int(f"{value:.{count - 1}e}".partition("e")[2])  # after rounding: 9.996 has three digits as 10.0
    places = count - 1 - power
    return f"{round(value, places):,.{max(0, places)}f}".replace(",", " ")


def noiseless(value: float, unit: str = "") -> float:
    """An SI value in `unit`, or any number, with the noise of binary conversion rounded away."""
    plain = float(into(value, unit) if unit else value)
    if plain == 0 or not math.isfinite(plain):
        return plain
    return round(plain, _NOISELESS - 1 - math.floor(math.log10(abs(plain))))


def shown(value: float, unit: str, count: int = 3) -> str:
    """An SI value in the trade's unit, "50.0 µm"."""
    return f"{digits(into(value, unit), count)} {_SIGNS.get(unit, unit)}"


def signed(text: str) -> str:
    """Text as a file has it, its units as a person writes them: "50 um" as "50 µm", "0.55 -" as "0.55"."""
    return _SIGN.sub(lambda found: _SIGNS[found[0]], text.removesuffix(" -"))


def likely(low: float | None, high: float | None, u: float) -> str:
    """Where 95 of 100 pieces lie [%], or the standard uncertainty [%] where the ends are not known."""
    if low is None or high is None:
        return f"standard uncertainty {u:.1f} %"
    return f"95 of 100 pieces {low:.1f} to {share(high / 100)}"


def share(value: float, places: int = 1) -> str:
    """A share as per cent, "97.0 %"; never rounded up to a certainty it is not."""
    least = 10.0**-places
    percent = 100 * value
    if 100 - least / 2 <= percent < 100:
        return f"over {100 - least:.{places}f} %"
    return f"{percent:.{places}f} %"


def duration(seconds: float) -> str:
    """A time as people say it: "45 s", "12 min", "3 h 20 min", "31 h"."""
    if seconds < 120:
        return f"{digits(seconds, 3)} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h" if hours >= 24 or rest == 0 else f"{hours} h {rest:02d} min"


def mass(kilograms: float) -> str:
    """A mass in g below 1 kg, in kg above."""
    return shown(kilograms, "g" if abs(kilograms) < 1 else "kg")


def volume(cubic_metres: float) -> str:
    """A volume of liquid in mL below 1 L, in L above."""
    return shown(cubic_metres, "mL" if abs(cubic_metres) < 1e-3 else "L")


def sizes(lengths_mm: Iterable[float], places: int = 2) -> str:
    """Lengths along three axes, "40.00 × 20.00 × 12.50"."""
    return " × ".join(f"{length:.{places}f}" for length in lengths_mm)


def tolerance(asked: Tolerance) -> str:
    """A tolerance as on a drawing, "± 0.2 mm", "± 0.5 %", "ISO 2768-m"."""
    if asked.kind == "iso2768":
        return f"ISO 2768-{asked.grade}"
    return f"± {asked.value:g} {'mm' if asked.kind == 'mm' else '%'}"


def moment(iso: str) -> str:
    """An ISO date and time with a space and without seconds."""
    return iso.replace("T", " ")[:16]


def count(number: int, one: str, many: str = "") -> str:
    """A number of things, "1 box", "2 boxes"."""
    return f"{digits_of(number)} {one if number == 1 else many or one + 's'}"


def digits_of(number: int) -> str:
    """A whole number with its thousands apart, all digits kept."""
    return f"{number:,}".replace(",", " ")


def part_name(part: Part) -> str:
    """What a person calls the part."""
    return part.request.name or part.request.file


def drop_size(dose: Dose) -> str:
    """Volume of the drops, "16 pL", or of the smallest and the largest of several."""
    if len(dose.level_drops) < 2:
        return shown(dose.drop, "pL")
    return f"{shown(dose.level_drops[0], 'pL')} to {shown(dose.drop, 'pL')}"


def remark(finding: Finding) -> str:
    """A finding as one line, "LOOK thin wall: …; remedy"."""
    text = f"{LEVEL_WORDS[finding.level]} {finding.what}: {finding.text}"
    return f"{text} {finding.remedy}" if finding.remedy else text


def misfits(sag: Sag) -> str:
    """How far a part comes out off nominal, before and after it was bent: "off nominal up to 2.61 mm …"."""
    if sag.before is None:
        return "not followed"
    before = f"off nominal up to {sag.before.most_mm:.2f} mm (rms {sag.before.rms_mm:.2f})"
    if sag.after is None:
        return f"{before}, left as it is"
    after = (
        f"{sag.after.most_mm:.2f} mm (rms {sag.after.rms_mm:.3f}, {sag.after.fit_rms_mm:.3f} after best fit)"
    )
    return f"{before}, pre-deformed {after}"
