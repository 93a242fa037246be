"""Owns the page to print and write on aboard."""

from pathlib import Path

from jinja2 import Environment, FileSystemLoader

from analysis.keeping.plan import Plan

PAPERS = {"A4": "A4", "letter": "Letter"}
"""Paper -> its name in CSS."""
LINES = {"A4": 36, "letter": 32}
"""Changes and strikes that fit on one sheet's two pages: a trip of 8 rods has about 31."""
_HEAD = (("Date", 22), ("Trip", 14), ("First line in", 18), ("Last line out", 18), ("Where", 28))


def sheet_html(plan: Plan, paper: str) -> str:
    """Return the sheet as a page; whatever was typed is escaped."""
    folder = Path(__file__).with_name("template")
    templates = Environment(loader=FileSystemLoader(folder), autoescape=True)
    template = templates.get_template("sheet.html.j2")
    lines = LINES[paper] - max(0, len(plan.rods) - 8)
    return template.render(plan=plan, paper=PAPERS[paper], head=_HEAD, lines=lines)


def sheet_pdf(plan: Plan, paper: str) -> bytes:
    """Return the sheet as a PDF.

    Parameters
    ----------
    plan : analysis.keeping.plan.Plan
    paper : str
        A key of `PAPERS`.
    """
    from weasyprint import HTML

    return bytes(HTML(string=sheet_html(plan, paper)).write_pdf())
