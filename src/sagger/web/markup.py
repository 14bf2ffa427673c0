"""Small pieces of page as text: tables, marks, facts. Every value is escaped on its way in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from markupsafe import Markup, escape

from sagger.views.wording import signed
from sagger.views.words.standing import WORDS, Rest

STATE_WORDS = {
    "to come": "to come",
    "running": "running",
    "ready": "ready",
    "look": "look",
    "stop": "stop",
    "waiting": "waiting",
    "done": "ready",
    "stopped": "stop",
    "cancelled": "stopped by you",
    "failed": "refused",
    "interrupted": "interrupted",
    "approved": "approved",
}
TONES = {
    "running": "running",
    "waiting": "waiting",
    "ready": "ready",
    "done": "ready",
    "approved": "ready",
    "look": "look",
    "interrupted": "look",
    "cancelled": "look",
    "stop": "stop",
    "stopped": "stop",
    "failed": "stop",
}

# A figure in a sentence: number, uncertainty, and a unit or a currency; not the 7 of "lot L-7".
# A colon stands inside a time only, "box 1: 62.9" is no figure of two numbers.
_UNIT = r"(?: (?:%|(?:[°µcmp]?[CmL]|k?g|h|min|s|K|[A-Z]{3})(?!\w)))"
_FIGURE = re.compile(rf"(?<![\w-])(?<!box )\d(?:(?:[\d .×-]|:(?=\d))*\d)?(?: ± \d[\d.]*)?{_UNIT}?")


def safe(text: object) -> Markup:
    """Text as a page may show it."""
    return escape(text)


def state(word: str) -> Markup:
    """A state: a word and a sign, never a colour alone."""
    return state_of(TONES.get(word, "waiting"), STATE_WORDS.get(word, word))


def state_of(tone: str, word: str) -> Markup:
    """A word in the dress of a state: running, ready, look, stop or waiting."""
    return Markup('<span class="state {}">{}</span>').format(tone, word)


def figure(text: object, standing: str = "", hint: str = "") -> Markup:
    """A figure, marked if it rests on memory or assumption.

    Parameters
    ----------
    text : object
        As shown, with its unit.
    standing : str
        read, measured, worked, memory or assumed; "weak" for a result with weak figures behind it.
    """
    weak = standing in ("memory", "assumed", "weak")
    title = hint or WORDS.get(standing, "")
    sign = {"memory": "m", "assumed": "a", "weak": "≈"}.get(standing, "")
    if not weak:
        return Markup('<span class="figure" title="{}">{}</span>').format(title, text)
    marked = '<span class="figure weak" title="{}">{}<sup aria-label="{}">{}</sup></span>'
    return Markup(marked).format(title, text, title, sign)


def resting(text: object, rests: Rest | None) -> Markup:
    """A result, marked if the cards behind it hold weak figures."""
    if rests is None:
        return escape(text)
    return figure(text, "weak" if rests.weak else "", rests.words)


def figures(line: str, rests: Rest | None) -> Markup:
    """A sentence of results, the figures in it marked if the cards behind it hold weak ones."""
    if rests is None or not rests.weak or not _FIGURE.search(line):
        return escape(line)
    parts, end = Markup(""), 0
    for figure in _FIGURE.finditer(line):
        parts += escape(line[end : figure.start()])
        parts += Markup('<span class="figure weak">{}</span>').format(figure[0])
        end = figure.end()
    whole = '<span title="{}">{}{}<sup aria-label="{}">≈</sup></span>'
    return Markup(whole).format(rests.words, parts, line[end:], rests.words)


def coded(text: str) -> Markup:
    """Text in which what stands between backticks is to be typed; other units are as a person writes them."""
    pieces = text.split("`")
    return Markup("").join(
        Markup("<code>{}</code>").format(piece) if place % 2 else escape(signed(piece))
        for place, piece in enumerate(pieces)
    )


def progress(share: float | None, name: str, doing: str) -> Markup:
    """How far something is; without a share only that it goes on."""
    value = "" if share is None else Markup(' value="{}"').format(f"{share:.3f}")
    bar = '<p><progress max="1"{} aria-label="{}"></progress> {}</p>'
    return Markup(bar).format(value, name, doing)


def legend() -> Markup:
    """What the marks on figures mean."""
    return Markup(
        '<p class="legend"><strong>Figures.</strong> '
        '<span class="figure">1.23</span> read, measured or worked out; '
        '<span class="figure weak">1.23<sup>m</sup></span> from memory; '
        '<span class="figure weak">1.23<sup>a</sup></span> assumed; '
        '<span class="figure weak">1.23<sup>≈</sup></span> computed, with such figures behind it. '
        "± is one standard uncertainty.</p>"
    )


def table(
    head: Sequence[object],
    rows: Iterable[Sequence[object]],
    caption: str = "",
    numbers: Sequence[int] = (),
    kind: str = "",
) -> Markup:
    """A table; `numbers` are the columns set flush right. The first column heads its row."""
    right = set(numbers)
    tops = Markup("").join(
        Markup('<th scope="col"{}>{}</th>').format(_right(place in right), cell)
        for place, cell in enumerate(head)
    )
    body = Markup("").join(_row(row, right) for row in rows)
    title = Markup("<caption>{}</caption>").format(caption) if caption else Markup("")
    return Markup(
        '<div class="scroll" tabindex="0" role="region" aria-label="{}"><table class="{}">{}'
    ).format(caption or "table", kind, title) + Markup(
        "<thead><tr>{}</tr></thead><tbody>{}</tbody></table></div>"
    ).format(tops, body)


def facts(pairs: Iterable[tuple[object, object]]) -> Markup:
    """Names and what belongs to them."""
    body = Markup("").join(Markup("<dt>{}</dt><dd>{}</dd>").format(name, value) for name, value in pairs)
    return Markup("<dl>{}</dl>").format(body)


def together(text: str) -> Markup:
    """Text that is not broken into lines, such as a date."""
    return Markup('<span class="together">{}</span>').format(text)


def items(lines: Iterable[object]) -> Markup:
    """A list."""
    body = Markup("").join(Markup("<li>{}</li>").format(line) for line in lines)
    return Markup("<ul>{}</ul>").format(body)


def link(path: str, words: object, kind: str = "") -> Markup:
    """A link to a page of the bench."""
    return Markup('<a href="{}" class="{}">{}</a>').format(path, kind, words)


def _row(row: Sequence[object], right: set[int]) -> Markup:
    cells = [Markup('<th scope="row"{}>{}</th>').format(_right(0 in right), row[0])]
    cells += [
        Markup("<td{}>{}</td>").format(_right(place in right), cell)
        for place, cell in enumerate(row[1:], start=1)
    ]
    return Markup("<tr>{}</tr>").format(Markup("").join(cells))


def _right(yes: bool) -> Markup:
    return Markup(' class="right"') if yes else Markup("")
