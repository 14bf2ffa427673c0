"""One job: its route from part file to price, what to decide next, and what stands beside."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence

from markupsafe import Markup

from sagger.goods.good import good
from sagger.goods.plain import Table
from sagger.goods.planned import Plan, PlanFinding, WholePlan
from sagger.goods.record import JobRecord, VersionRecord
from sagger.views.wording import moment, signed
from sagger.views.words.changes import changes
from sagger.views.words.compare import Pair
from sagger.views.words.decide import Decision
from sagger.views.words.headline import headline
from sagger.views.words.noticed import sources
from sagger.views.words.route import Leg
from sagger.web import markup

Name = tuple[str, str]  # of a part: its letter, and what it is called
PAGES = {  # of a step: its page, and how the link to it reads
    "intake": ("part", "see the parts"),
    "nest": ("bed", "see the box"),
    "layers": ("layers", "see the layers"),
    "cure": ("programmes", "see the programmes"),
    "sinter": ("programmes", "see the programmes"),
    "promise": ("price", "see the chances"),
    "cost": ("price", "see the price"),
}
DOWNLOADS = {
    "traveller.pdf": "Traveller, PDF",
    "traveller.html": "Traveller, page",
    "layers.zip": "Drop images of all layers, zip",
    "bed.3mf": "Nested box, 3MF",
    "plan.json": "Every number of the plan, JSON",
}
PAPERS = {
    "offer.pdf": "Offer, PDF",
    "offer.html": "Offer, page",
    "certificate.pdf": "Certificate of measurement, PDF",
    "certificate.html": "Certificate of measurement, page",
}
BUTTONS = {"stop": "Stop planning", "enough": "This height is enough", "go on": "Go on with planning"}


@good
class ComparedJob:
    """A job beside which another is held: its number, version, order and plan."""

    job: int
    version: VersionRecord | None
    tables: Table  # of its order file, empty if the desk does not keep it
    plan: Plan | None


def title(row: JobRecord, version: VersionRecord | None) -> str:
    """Name of a job, and which version of its order it plans."""
    return f"{row.name}, version {version.number}" if version else row.name


def decision(asks: Decision) -> Markup:
    """What comes next, and why."""
    return Markup("<h2>{}</h2><p>{}</p>").format(asks.words, markup.coded(asks.why))


def height(row: JobRecord) -> Markup:
    """How far a nest is that only becomes better."""
    if row.state != "running" or not row.improving:
        return Markup("")
    if row.enough:
        return Markup("<p><strong>You said that it is enough.</strong></p>")
    return Markup('<p class="height">{}</p>').format(row.doing)


def route(job: int, legs: Iterable[Leg], plan: Plan | None) -> Markup:
    """Every step of a job, with the way to its page once there is something to see."""
    steps = Markup("").join(_leg(job, leg, plan) for leg in legs)
    return Markup('<h2>Route</h2><ol class="route">{}</ol>').format(steps)


def page_of(leg: Leg, plan: Plan | None) -> tuple[str, str] | None:
    """Page of a step and how the link to it reads; parts can be seen even where intake stopped the job."""
    there = plan is not None and (isinstance(plan, WholePlan) or leg.room == "intake")
    return PAGES.get(leg.room) if there else None


def findings(of_a_kind: Sequence[PlanFinding], parts: Sequence[Name]) -> Markup:
    """The first of several findings of a kind; what the others say otherwise is one step away."""
    texts = list(dict.fromkeys(finding(each, parts) for each in of_a_kind))
    more = Markup("")
    if len(texts) > 1:
        rest = Markup("").join(Markup("<p>{}</p>").format(text) for text in texts[1:])
        more = Markup("<details><summary>{} more like it</summary>{}</details>").format(len(texts) - 1, rest)
    level, name = of_a_kind[0].level, of_a_kind[0].what
    block = '<div class="found {}"><p><strong>{}</strong>: {}</p>{}</div>'
    return Markup(block).format(level, name, texts[0], more)


def finding(noticed: PlanFinding, parts: Sequence[Name]) -> Markup:
    """What a step noticed, on which part, what to do, and where the limit comes from."""
    whose = _whose(noticed.text, parts[noticed.part]) if noticed.part is not None else ""
    source = Markup(" <small>({})</small>").format(sources(noticed.source)) if noticed.source else ""
    text, remedy = markup.coded(noticed.text), markup.coded(noticed.remedy)
    return Markup("{}{} {}{}").format(whose, text, remedy, source)


def part_names(plan: Plan | None) -> list[Name]:
    """Letter and name of each part."""
    return [(part.letter, part.name) for part in plan.parts] if plan else []


def since(before: ComparedJob, now: ComparedJob) -> Markup:
    """What was changed since last time, and what came out differently for it."""
    lines = changes(before.tables, now.tables)
    top = markup.items(map(signed, lines)) if lines else Markup("<p>The order says the same.</p>")
    link = markup.link(f"/compare?one={before.job}&other={now.job}", "Side by side, all figures")
    block = '<section class="since" aria-label="Since last time"><h2>Since {}</h2>{}{}<p>{}</p></section>'
    return Markup(block).format(before_name(before, now), top, _came_out(before.plan, now.plan), link)


def before_name(before: ComparedJob, now: ComparedJob) -> str:
    """What a job is held against: a version of the order, or an earlier job of the same version."""
    was, this = before.version, now.version
    if was and this and was.id != this.id:
        return f"version {was.number}"
    return f"job {before.job}"


def outcome_row(pair: Pair) -> tuple[object, ...]:
    """What, by how much, and what it is now."""
    unit = f" {pair.unit}" if pair.unit else ""
    by = pair.differs if pair.name == "ready" else f"{pair.differs}{unit}"
    return pair.name, by, markup.resting(pair.other + unit, pair.rests[1])


def downloads(job: int, names: Iterable[str]) -> Markup:
    """Links to the files of a job, of those that are there."""
    links = [markup.link(f"/files/job/{job}/{name}", (DOWNLOADS | PAPERS)[name]) for name in names]
    return markup.items(links) if links else Markup("<p>Nothing yet: files come with the plan.</p>")


def stands_out(act: str) -> bool:
    """Whether an act's button is the one to press: never the one that ends work under way."""
    return act != "stop"


def jobs_of_versions(newest_first: Iterable[JobRecord]) -> dict[int, int]:
    """The latest job of each version that was planned, by the version's number in the ledger."""
    jobs: dict[int, int] = {}
    for job in newest_first:
        if job.version:
            jobs.setdefault(job.version, job.id)
    return jobs


def versions(
    job: int, all_versions: Iterable[VersionRecord], planned: Mapping[int, int], approved: Container[int]
) -> Markup:
    """Every version of an order: what was changed for it, and the way to its job and to a comparison.

    Parameters
    ----------
    job : int
        The job that is shown.
    all_versions : iterable of VersionRecord
        Of its order.
    planned : mapping
        Job by version, of versions that were planned.
    approved : container of int
        Jobs that were approved.
    """
    lines = []
    for version in all_versions:
        of_version = planned.get(version.id)
        state = Markup(" {}").format(markup.state("approved")) if of_version in approved else ""
        lines.append(version_line(job, version, of_version) + state)
    return markup.items(lines)


def version_line(job: int, version: VersionRecord, planned: int | None) -> Markup:
    """One version, planned by the job `planned`; the one that is shown has no links."""
    name = f"version {version.number}"
    changed = "; ".join(map(signed, version.changes)) or "as it came"
    if planned is None or planned == job:
        return Markup("<strong>{}</strong>: {}").format(name, changed)
    beside = markup.link(f"/compare?one={planned}&other={job}", "side by side")
    return Markup("{}: {} {}").format(markup.link(f"/job/{planned}", name), changed, beside)


def facts(row: JobRecord) -> Markup:
    """Number, times and person of a job; what is not known is left out."""
    pairs = [
        ("job", row.id),
        ("began, UTC", moment(row.began)),
        ("ended, UTC", moment(row.ended)),
        ("first box can start", moment(row.start)),
        ("asked by", row.person),
    ]
    return markup.facts((name, value) for name, value in pairs if value)


def _whose(text: str, name: Name) -> str:
    """Letter and name before a finding's text, the name only if the text does not say it."""
    letter, called = name
    if text.startswith(called):
        return f"{letter} "
    return f"{letter}: " if called in text else f"{letter} {called}: "


def _came_out(before: Plan | None, now: Plan | None) -> Markup:
    if not isinstance(before, WholePlan) or not isinstance(now, WholePlan):
        return Markup("")
    rows = [outcome_row(pair) for pair in headline(before, now) if pair.differs]
    if not rows:
        return Markup("<p>Odds, time, powder, price and date are the same.</p>")
    return markup.table(("what", "by", "now"), rows, "What came out differently", numbers=(1, 2))


def _leg(job: int, leg: Leg, plan: Plan | None) -> Markup:
    says = Markup("").join(Markup("<p>{}</p>").format(markup.figures(line, leg.rests)) for line in leg.says)
    bar = markup.progress(leg.share, leg.name, leg.doing) if leg.state == "running" else ""
    kinds: dict[tuple[str, str], list[PlanFinding]] = {}
    for noticed in leg.findings:
        kinds.setdefault((noticed.level, noticed.what), []).append(noticed)
    notes = Markup("").join(findings(alike, part_names(plan)) for alike in kinds.values())
    page = page_of(leg, plan)
    more = markup.link(f"/job/{job}/{page[0]}", page[1]) if page else ""
    tone = "tocome" if leg.state == "to come" else ""
    block = '<li class="leg {}"><div>{}</div><div><h3>{} {}</h3>{}{}{}</div></li>'
    return Markup(block).format(tone, markup.state(leg.state), leg.name, more, bar, says, notes)
