"""The toolkit's page with a word, new for each answer, on the scripts that belong to it.

A script that finds its way into a page otherwise does not have the word, and the browser does not run it. The
word is put into the template before anything is filled in, so that nothing filled in can carry it.
"""

from __future__ import annotations

import jinja2

SCRIPT, STYLE = "<script", "<style"
MADE = 'document.createElement("style"), { textContent'  # a style that the page's own script adds
WORD = "{{ request.state.nonce }}"


def marked(source: str) -> str:
    """A template whose scripts and styles carry the word of the request."""
    for tag in (SCRIPT, STYLE):
        source = source.replace(tag, f'{tag} nonce="{WORD}"')
    return source.replace(MADE, f'document.createElement("style"), {{ nonce: "{WORD}", textContent')


def mark(templates: jinja2.Environment) -> None:
    """Have an environment hand out its templates marked."""
    plain = templates.loader
    if plain is None:
        raise RuntimeError("the page toolkit keeps its templates otherwise than it did")

    def load(name: str) -> tuple[str, str | None, object]:
        source, path, fresh = plain.get_source(templates, name)
        return marked(source), path, fresh

    templates.loader = jinja2.FunctionLoader(load)  # type: ignore[arg-type]
