"""A new order: the files that were uploaded, what the form begins with, and what must be chosen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from markupsafe import Markup

from sagger.desk.planning.drafts import UploadedFile
from sagger.errors import InputError
from sagger.goods.plain import Table, rows, text
from sagger.units import into
from sagger.views.wording import digits_of, sizes
from sagger.web import markup
from sagger.web.rows.order_fields import PartKey, written

HEAD = ("File", "Kind", "Overall size x × y × z", "Triangles")
NO_PARTS = ("", "order", "lot")  # kinds of files that are no part
ALL = "all"  # bodies of a file
MOST_APART = 24  # bodies of a file that are asked about one by one
USUAL_TOLERANCE: Table = {"tolerance": "2 %"}


class FormPart(NamedTuple):
    """A part that the form asks about."""

    file: UploadedFile
    key: PartKey
    copies: int  # as an assembly places it

    @property
    def name(self) -> str:
        """What it is called on papers."""
        stem = self.file.name.rpartition(".")[0]
        return f"{stem} {self.key.body}" if self.key.body else stem


def parts(files: Iterable[UploadedFile]) -> list[UploadedFile]:
    """Those of the files that are parts."""
    return [file for file in files if file.kind not in NO_PARTS]


def ready(files: Sequence[UploadedFile]) -> bool:
    """Whether there is enough for a form: a part, or an order file."""
    return bool(parts(files)) or any(file.kind == "order" for file in files)


def files_table(files: Iterable[UploadedFile]) -> Markup:
    """Every file with what it holds, or why it was refused."""
    return Markup("<h2>Files</h2>{}").format(markup.table(HEAD, map(file_row, files), "Files", numbers=(3,)))


def file_row(file: UploadedFile) -> tuple[object, ...]:
    """One file under `HEAD`."""
    kind = file.kind or markup.state("failed")
    size = overall_size(file) if file.size else file.words
    return file.name, kind, size, digits_of(file.triangles) if file.triangles else ""


def overall_size(file: UploadedFile) -> str:
    """Overall size; of a file that names no unit, what it would be in the two that come most often."""
    assert file.size is not None
    if not file.needs_unit:
        return f"{sizes(file.size)} mm"
    inches = (side * into(1.0, "mm") / into(1.0, "in") for side in file.size)
    return f"{sizes(file.size)} mm if drawn in mm, {sizes(inches)} mm if in inches; the file does not say"


def refusals(files: Iterable[UploadedFile]) -> Markup:
    """Why files were refused."""
    block = Markup('<p class="said" role="alert">{}</p>')
    return Markup("").join(block.format(file.words) for file in files if not file.kind)


def first_order(files: Sequence[UploadedFile]) -> Table:
    """What the table of the order says before anybody writes: its name, after the first part."""
    of_interest = parts(files)
    return {"name": of_interest[0].name.rpartition(".")[0] if of_interest else "coupons"}


def form_parts(files: Iterable[UploadedFile], order: Table) -> list[FormPart]:
    """The parts that the form asks about: an assembly as its bodies, unless an order file says otherwise."""
    made = list[FormPart]()
    for file in parts(files):
        written_rows = [row for row in rows(order, "part") if text(row, "file") == file.name]
        if (
            file.bodies == 1
            or file.bodies > MOST_APART
            or (written_rows and text(written_rows[0], "body") == ALL)
        ):
            made.append(FormPart(file, PartKey(file.name, ALL if file.bodies > 1 else ""), 1))
        elif written_rows:
            made += [FormPart(file, PartKey(file.name, text(row, "body")), 1) for row in written_rows]
        else:
            made += [FormPart(file, PartKey(file.name, name), copies) for name, copies in file.inside]
    return made


def first_part(part: FormPart, order: Table) -> Table:
    """What the table of a part says before anybody writes: as an order file that came with it."""
    said = written(order, part.key)
    if said or not part.key.body:
        return said or USUAL_TOLERANCE
    one: Table = {"body": part.key.body}
    if part.key.body != ALL:
        one |= {"name": part.name, "quantity": part.copies}
    return {**USUAL_TOLERANCE, **one}


def heading(part: FormPart) -> str:
    """What stands over the fields of a part."""
    if part.key.body in ("", ALL):
        return f"Part: {part.file.name}"
    times = f", placed {part.copies} times" if part.copies > 1 else ""
    return f"Part: {part.key.body} of {part.file.name}{times}"


def check_units(entries: Mapping[str, object], parts: Sequence[FormPart]) -> None:
    """Refuse a file without a unit: an inch taken for a millimetre makes a part 25 times too small."""
    for number, part in enumerate(parts, 1):
        file = part.file
        place = f"[[part]] {number}, unit"
        if file.needs_unit and not entries[place]:
            what = f"{file.name} does not say its unit"
            raise InputError(what, field=place, remedy="Choose it; its size above shows which it must be.")
