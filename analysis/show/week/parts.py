"""Owns the parts of the weekly report's page: each a heading with its content, or nothing."""

from collections.abc import Collection, Mapping

from markupsafe import Markup

from analysis.show.base.html import Fragment, box, bullets, each, paragraph
from analysis.show.base.tables import Table
from analysis.show.season.words import cautions as all_cautions
from analysis.show.week import tables as week_tables
from analysis.show.week import words as week_words
from analysis.weekly.figures import NO_TRIPS, WeekReport

_NOTHING = Fragment()


def _part(title: str, *content: Fragment | Table) -> Fragment:
    """Put a heading over content; nothing over nothing."""
    filled = [Fragment(piece.html) for piece in content if piece.html]
    if not filled:
        return _NOTHING
    whole = Fragment(Markup("<h2>{}</h2>").format(title))
    for piece in filled:
        whole = whole + piece
    return Fragment(Markup("<section>{}</section>").format(whole.html))


def subject(week: WeekReport) -> Fragment:
    """Return whose week it is, and which."""
    return paragraph(week_words.subject(week), "subject")


def answer(week: WeekReport) -> Fragment:
    """Return the week's answer in plain words, the headline the shortest and largest."""
    return box(week_words.answer_lines(week), "answer")


def figures(week: WeekReport) -> Fragment:
    """Return the week in figures, against last week and last year, and the waters fished."""
    if week.counts is None:
        return _NOTHING
    notes = [week_tables.species_together(week.counts), week_words.waters(week)]
    lines = [paragraph(note, "fine") for note in notes if note]
    return _part("The week in figures", week_tables.figures(week), *lines)


def depth(week: WeekReport) -> Fragment:
    """Return where in the water column it was: picture and table."""
    if week.depth is None:
        return _NOTHING
    from analysis.show.base.pictures import picture  # here: heavy, and a list of weeks has none
    from analysis.show.week.picture import depth_picture, told

    units = week_words.units_of(week)
    bands, words = week.depth.bands, told(week.depth, week.water, units)
    drawn = picture(depth_picture, bands, week, height_in=2.9, told=words)
    table = week_tables.bands(week.depth, units) if bands else _NOTHING
    return _part("Where in the water", drawn, table)


def tackle(week: WeekReport) -> Fragment:
    """Return what puts a lure at the named depth, and what was towed how."""
    if week.counts is None:
        return _NOTHING
    there = _NOTHING
    if week.line_outs:
        short = week_words.out_of_reach(week_tables.out_of_reach(week))
        note = paragraph(short, "fine") if short else _NOTHING
        there = _part("What puts a lure there", week_tables.line_outs(week), note)
    how = _part("On what, and how", week_tables.tackle(week), week_tables.conditions(week))
    return _side_by_side(there, how)


def ahead(week: WeekReport) -> Fragment:
    """Return what to try next, and what the week's logs do not tell."""
    tries = _part("What to try next", bullets(week_words.try_next(week)))
    if week.counts is None:
        return tries
    return _side_by_side(tries, _part("What was not known", bullets(week_words.not_known(week))))


def _side_by_side(left: Fragment, right: Fragment) -> Fragment:
    """Put two parts beside each other where there is room."""
    if not (left.html and right.html):
        return left if left.html else right
    return Fragment(Markup('<div class="pair">{}{}</div>').format(left.html, right.html))


def protection(week: WeekReport) -> Fragment:
    """Return how the report keeps a boat's figures to itself."""
    if week.status == NO_TRIPS:
        return _NOTHING
    lines = [paragraph(line, "fine") for line in week_words.protection(week)]
    return _part("What keeps a boat's figures its own", *lines)


def cautions(week: WeekReport) -> Fragment:
    """Return the cautions, and with what the report was made."""
    line = f"Made by rodhours {week.made_with.version}; figures also in {week.week}.json."
    return _part("Cautions", all_cautions(), paragraph(line, "fine"))


def index(weeks: Mapping[str, WeekReport | None], with_pdf: Collection[str]) -> Fragment:
    """Return the list of a folder's reports, year by year.

    Parameters
    ----------
    weeks : Mapping
        Week to its report, in the order to list them; None for one of another version.
    with_pdf : collection of str
        Weeks that have a PDF.
    """
    whole = Fragment(Markup("<h1>Weekly reports</h1>"))
    if not weeks:
        return whole + paragraph("There are no reports yet.", "absent")
    for year in dict.fromkeys(week[:4] for week in weeks):
        items = [
            _listed(week, report, with_pdf) for week, report in weeks.items() if week[:4] == year
        ]
        listed = Markup('<h2>{}</h2><ul class="reports">{}</ul>').format(year, each("{}", items))
        whole = whole + Fragment(listed)
    return whole


def _listed(week: str, report: WeekReport | None, with_pdf: Collection[str]) -> Markup:
    """Return one report's entry: its links, and its headline."""
    number = int(week[-2:])
    forms = [("pdf", "PDF")] if week in with_pdf else []
    forms += [("txt", "text"), ("json", "figures")]
    form = Markup('<a href="{}.{}">{}<span class="unseen"> of week {}</span></a>')
    others = Markup(", ").join(form.format(week, end, words, number) for end, words in forms)
    link = Markup('<a href="{}.html">Week {}</a>').format(week, number)
    entry = Markup("<li>{}{} ({})<br>{}</li>")
    if report is None:
        return entry.format(link, "", others, "Made by another version of rodhours.")
    days = week_words.days(report.first_day, report.last_day)
    return entry.format(link, f", {days}", others, week_words.headline(report))
