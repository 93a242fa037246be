"""Owns the page of what may be called from Python: docstrings as headings, lists and examples."""

from __future__ import annotations

import re
from collections.abc import Sequence

from markupsafe import Markup

from analysis.show.base.html import Fragment, each
from analysis.show.workbook.rows import Documented

_SECTION = re.compile(r"(?m)^(\S.*)\n-{3,}\n")
"""A heading of a docstring, underlined as numpydoc has it."""
_CODE = re.compile(r"``(.+?)``|`(.+?)`", re.DOTALL)
_EXAMPLES = "Examples"


def page(entries: Sequence[Documented]) -> Fragment:
    """Write every name with what its docstring says, all text escaped.

    Parameters
    ----------
    entries : sequence of Documented
    """
    return Fragment(Markup('<div class="api">{}</div>').format(each("{}", map(_entry, entries))))


def _entry(one: Documented) -> Markup:
    level = 2 if one.is_class or one.name.startswith("rodhours.") else 3
    head = Markup("<h{0}><code>{1}{2}</code></h{0}>").format(level, one.name, one.call)
    said, *sections = _SECTION.split(one.doc)
    told = [_section(*pair) for pair in zip(sections[::2], sections[1::2], strict=True)]
    return head + _paragraphs(said) + each("{}", told)


def _section(heading: str, content: str) -> Markup:
    """Write one section: examples as they are typed, others as terms with what they are."""
    if heading == _EXAMPLES:
        inner = Markup('<pre tabindex="0" role="group" aria-label="{}">{}</pre>').format(
            heading, content.strip("\n")
        )
    else:
        inner = _terms(content)
    return Markup("<p><strong>{}</strong></p>{}").format(heading, inner)


def _terms(content: str) -> Markup:
    """Write lines as terms, and those further in as what they are."""
    written = []
    for block in re.split(r"\n(?=\S)", content.strip("\n")):
        term, _, meaning = block.partition("\n")
        told = Markup("<br>{}").format(_coded(_joined(meaning))) if meaning.strip() else ""
        written.append(Markup("<em>{}</em>{}").format(_coded(term), told))
    return Markup("<ul>{}</ul>").format(each("<li>{}</li>", written))


def _paragraphs(text: str) -> Markup:
    blocks = [_joined(block) for block in re.split(r"\n\s*\n", text) if block.strip()]
    return each("<p>{}</p>", map(_coded, blocks))


def _joined(text: str) -> str:
    return " ".join(text.split())


def _coded(text: str) -> Markup:
    """Write text with what stands in backticks as code.

    Examples
    --------
    >>> _coded("see `trips`, or ``a < b``")
    Markup('see <code>trips</code>, or <code>a &lt; b</code>')
    """
    parts = []
    at = 0
    for found in _CODE.finditer(text):
        parts += [Markup("{}").format(text[at : found.start()])]
        parts += [Markup("<code>{}</code>").format(found[1] or found[2])]
        at = found.end()
    return Markup().join([*parts, Markup("{}").format(text[at:])])
