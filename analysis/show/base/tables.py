"""Owns tables on a page: escaped HTML with marked headers, and the same as plain text."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from analysis.show.base.html import each, marked, paragraph

_SHORT = 16
"""Texts of up to so many characters, such as a depth with its unit, stay on one line."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows of text under headings; the first column names its row.

    Parameters
    ----------
    caption : str
        What the table holds; read out before it.
    columns : Mapping
        Heading to the texts below it, all of one length.
    numbers : frozenset of str
        Headings of the columns that are aligned on the right.
    named : tuple of bool
        Which rows stand out; empty for none.
    nothing : str
        The sentence in place of a table without rows.

    Raises
    ------
    ValueError
        When the columns differ in length or `named` does not fit them.
    """

    caption: str
    columns: Mapping[str, Sequence[str]]
    numbers: frozenset[str] = frozenset()
    named: tuple[bool, ...] = ()
    nothing: str = "Nothing to list."

    def __post_init__(self) -> None:
        """Check that the table is a rectangle."""
        lengths = {len(texts) for texts in self.columns.values()}
        if self.named:
            lengths.add(len(self.named))
        if len(lengths) > 1:
            msg = f"columns of a table must be of one length, not {sorted(lengths)}"
            raise ValueError(msg)

    @property
    def rows(self) -> list[tuple[str, ...]]:
        """The texts, row by row."""
        return list(zip(*self.columns.values(), strict=True))

    @property
    def html(self) -> Markup:
        """The table as markup, every text escaped, in a block that scrolls by itself if wide."""
        if not self.rows:
            return paragraph(self.nothing, "absent").html
        heading_cell = Markup('<th scope="col"{}>{}</th>')
        head = each("{}", (heading_cell.format(self._mark(x, x), x) for x in self.columns))
        body = each("{}", (self._row(index, texts) for index, texts in enumerate(self.rows)))
        return Markup(
            '<div class="table" role="region" tabindex="0" aria-label="{0}">'
            "<table><caption><span>{0}</span></caption><thead><tr>{1}</tr></thead>"
            "<tbody>{2}</tbody></table></div>"
        ).format(self.caption, head, body)

    def _mark(self, heading: str, text: str) -> Markup:
        """Return the marks of a cell: numbers align on the right, short texts do not break.

        JupyterLab aligns every cell on the right, so a text says itself that it does not.
        """
        short = "" if len(text) > _SHORT else " short"
        kind = f"number{short}" if heading in self.numbers else short.strip()
        left = "" if heading in self.numbers else ' style="text-align: left"'
        return marked(kind) + Markup(left)

    def _row(self, index: int, texts: Iterable[str]) -> Markup:
        (first, name), *others = zip(self.columns, texts, strict=True)
        row_heading = Markup('<th scope="row"{}>{}</th>').format(
            self._mark(first, name),
            name or "–",  # no silent header
        )
        # On a phone the cells of a row stand below each other, each behind its heading.
        cell = Markup('<td{} data-label="{}">{}</td>')
        cells = each(
            "{}", (cell.format(self._mark(head, text), head, text) for head, text in others)
        )
        named = "named" if self.named and self.named[index] else ""
        return Markup("<tr{}>{}{}</tr>").format(marked(named), row_heading, cells)

    def _repr_html_(self) -> str:
        """Return the markup, for notebooks."""
        return self.html

    def text(self) -> str:
        """Return the table as plain text in columns, for a terminal.

        Examples
        --------
        >>> print(Table(caption="Effort", columns={"Band": ["30–40 ft"], "Hours": ["62"]},
        ...             numbers=frozenset({"Hours"})).text())
        Band      Hours
        30–40 ft     62
        """
        if not self.rows:
            return self.nothing
        widths = [
            max(len(heading), *(len(text) for text in texts), 0)
            for heading, texts in self.columns.items()
        ]
        lines = [tuple(self.columns), *self.rows]
        return "\n".join(
            "  ".join(
                text.rjust(width) if heading in self.numbers else text.ljust(width)
                for text, width, heading in zip(line, widths, self.columns, strict=True)
            ).rstrip()
            for line in lines
        )


def by_log(cells: Mapping[tuple[str, str], str], caption: str) -> Table:
    """Spread texts by log and table of it out: a line a log, a column a table."""
    logs = sorted({log for log, _ in cells})
    tables = dict.fromkeys(table for _, table in cells)
    columns = {table: [cells.get((log, table), "–") for log in logs] for table in tables}
    return Table(caption=caption, columns={"Log": logs} | columns, numbers=frozenset(columns))


def from_rows(
    caption: str,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    numbers: Sequence[str] = (),
    named: tuple[bool, ...] = (),
    nothing: str = "Nothing to list.",
) -> Table:
    """Turn rows of text under headings into a table; the other arguments as in `Table`."""
    columns = {heading: [row[at] for row in rows] for at, heading in enumerate(headings)}
    right = frozenset(numbers)
    return Table(caption=caption, columns=columns, numbers=right, named=named, nothing=nothing)
