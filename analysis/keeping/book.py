"""Owns the tables of a new season: a workbook with one sheet a table, or CSV files."""

from __future__ import annotations

import csv
import io
from datetime import date, time

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from analysis.keeping.headings import CHOICES, ORDER, example_of, first_rows, note_of
from analysis.keeping.plan import Plan
from analysis.log.schema import TABLES, Field

LAST_ROW = 2500
"""Down to here the sheets are formatted: more than a season in short form fills."""
IN_CSV = ORDER[:-1]
"""Tables written as CSV: sets in full only where somebody wants them."""
_FORMATS = {"date": "yyyy-mm-dd", "time": "hh:mm", "text": "@", "choice": "@"}
_WIDTHS = {"note": 30, "lure": 22, "area": 18, "species": 18, "date": 12}
_GREY = "808080"
_FACE, _SIZE = "Calibri", 11  # the face of the cells below; a font that names none gets another


def season_book(plan: Plan) -> bytes:
    """Return a workbook with one sheet a table, to fill in.

    Headings have notes, columns with known words have lists to choose from, dates and times are
    formatted, and the first row under each heading is an example that is never read.
    """
    book = Workbook()
    book.remove(book.active)
    for table in ORDER:
        _fill(book.create_sheet(table), table, plan)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def season_csv(plan: Plan, table: str) -> bytes:
    """Return one table as CSV with its headings and the example row."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([field.name for field in TABLES[table]])
    writer.writerow(example_of(table))
    writer.writerows(first_rows(table, plan))
    return out.getvalue().encode("utf-8")


def _fill(sheet: Worksheet, table: str, plan: Plan) -> None:
    fields = TABLES[table]
    sheet.append([field.name for field in fields])
    for row in (example_of(table), *first_rows(table, plan)):
        sheet.append([_typed(cell, field) for cell, field in zip(row, fields, strict=True)])
    for cell in sheet[2]:
        cell.font = Font(name=_FACE, size=_SIZE, italic=True, color=_GREY)
    for number, field in enumerate(fields, start=1):
        letter = get_column_letter(number)
        head = sheet.cell(1, number)
        head.font = Font(name=_FACE, size=_SIZE, bold=True)
        head.fill = PatternFill("solid", fgColor="DDE6EA")
        head.comment = Comment(note_of(table, field, plan), "rodhours", width=260, height=90)
        sheet.column_dimensions[letter].width = _WIDTHS.get(field.name, 13)
        style = _FORMATS.get(field.kind, "General")
        for line in range(2, LAST_ROW + 1 if field.kind in ("date", "time", "text") else 2):
            sheet.cell(line, number).number_format = style
        _offer(sheet, table, field, f"{letter}3:{letter}{LAST_ROW}", plan)
    sheet.freeze_panes = "B3"
    # printed, a table is as wide as a page lying down, its headings on each
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = "1:1"


def _typed(cell: str, field: Field) -> object:
    """Return an example's cell as the spreadsheet would have it when typed."""
    if not cell:
        return None
    if field.kind == "number":
        return float(cell)
    if field.kind == "date":
        return date.fromisoformat(cell)
    if field.kind == "time":
        return time.fromisoformat(cell)
    return cell


def _offer(sheet: Worksheet, table: str, field: Field, cells: str, plan: Plan) -> None:
    """Give a column a list to choose from; only our own words are insisted on."""
    strict = field.name in CHOICES or field.name == "gear"
    if field.name in CHOICES:
        source = f'"{",".join(CHOICES[field.name])}"'
    elif field.name == "gear":
        source = f'"{",".join(plan.gears)}"'
    elif field.name == "rod":
        source = f'"{",".join(rod.rod for rod in plan.rods)}"'
    elif field.name == "trip" and table != "trips":
        source = f"trips!$A$3:$A${LAST_ROW}"
    elif field.name == "spread" and table == "trips":
        source = f"spreads!$A$3:$A${LAST_ROW}"
    elif field.name in ("species", "lure"):
        # what was written so far in this column
        column = cells[0]
        source = f"${column}$3:${column}${LAST_ROW}"
    else:
        return
    rule = DataValidation(type="list", formula1=source, allow_blank=True, showErrorMessage=strict)
    rule.error = f"Choose one of the list for {field.name}, or leave it empty."
    sheet.add_data_validation(rule)
    rule.add(cells)
