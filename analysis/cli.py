"""Owns the command line: parse, call, print, and the exit code. Heavy imports wait until needed."""

import argparse
import os
import shlex
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.errors import RodhoursError, UsageError
from analysis.places import DEMO, TABLES, default_reports

if TYPE_CHECKING:
    from analysis.log import SeasonLog
    from analysis.report.check import Checked
    from analysis.season import Options

GOOD = 0
CANNOT = 1
WRONG_USE = 2

_NEXT = """\
rodhours: which depth produced, how sure we are, what to set next.

Type one of these next:
  rodhours review             the season review of the demo, to see what you would get
  rodhours start MY_SEASON    a new season folder: tables to fill in, a sheet to print
  rodhours check MY_SEASON    is my own log good enough? (a folder with boat.toml and tables)
  rodhours review MY_SEASON   the season review of my own log
  rodhours lab MY_SEASON      the notebooks in JupyterLab, to ask a season more
  rodhours weekly --all       a page a week for the boats of a club, from the demo
  rodhours --help             everything else
"""

_SOON_SENT_BYTES = 10_000_000

DEMO_BOAT = "Dunlin"
"""Whose card the demo shows where nobody names a boat."""

_LOGS = "season folder with boat.toml and its tables; without one, the demo season"


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="rodhours",
        description="Season analytics for people who troll: logs in, reviews and reports out.",
        epilog="Exit codes: 0 done, 1 the log cannot be analysed, 2 wrong use of the command.",
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    _add_start(commands.add_parser)
    _add_check(commands.add_parser)
    _add_review(commands.add_parser)
    _add_card(commands.add_parser)
    _add_weekly(commands.add_parser)
    _add_depth(commands.add_parser)
    _add_lab(commands.add_parser)
    return parser


def _add_start(add: Callable[..., argparse.ArgumentParser]) -> None:
    text = "make a new season folder: boat.toml, tables to fill in, a sheet to print"
    start = add(
        "start",
        help=text,
        description=f"{text.capitalize()}. Asks for what no option tells. Overwrites nothing.",
        epilog="Example: rodhours start dunlin-2026 --rods 'P1 diver 2 90, SR rigger 50' --yes",
    )
    start.add_argument("folder", metavar="FOLDER", type=Path, help="the folder to make")
    start.add_argument("--boat", metavar="NAME", help="name of the boat")
    start.add_argument("--club", metavar="NAME", help="its club")
    start.add_argument("--zone", metavar="ZONE", help="time zone, such as Europe/Oslo")
    start.add_argument("--units", metavar="UNITS", help="such as 'ft, mph, F' or 'm, km/h, C'")
    start.add_argument("--water", metavar="NAME", help="name of the water fished")
    start.add_argument(
        "--rods",
        metavar="RODS",
        help="rods as usually put in: label, gear, setting of a diver, line-out",
    )
    start.add_argument("--csv", action="store_true", help="tables as CSV, not as one workbook")
    start.add_argument("--yes", action="store_true", help="take the defaults, ask nothing")
    start.set_defaults(run=_start)


def _add_check(add: Callable[..., argparse.ArgumentParser]) -> None:
    text = "read and vet logs; print what was set aside and what each gap costs"
    check = add("check", help=text, description=f"{text.capitalize()}.")
    check.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=_LOGS)
    check.add_argument(
        "--suggest",
        action="store_true",
        help="print a boat.toml for a log of other headings, words and units, each line with its "
        "reason and rows that show it; nothing is written or applied",
    )
    check.add_argument(
        "--accept-loss",
        action="store_true",
        help="exit with 0 although much of the log, or one part of it more than others, was lost",
    )
    check.add_argument(
        "--strict", action="store_true", help="exit with 1 for any finding that is not cosmetic"
    )
    check.add_argument(
        "--fixes",
        metavar="FILE",
        type=Path,
        help="write proposed corrections of one log into a new FILE: edit it, keep what is right "
        "as fixes.csv beside the log; delete it to undo them",
    )
    check.add_argument("--json", action="store_true", help="print every finding as JSON")
    check.set_defaults(run=_check)


def _add_review(add: Callable[..., argparse.ArgumentParser]) -> None:
    text = "write the season review: page, notebook and result tables"
    review = add(
        "review",
        help=text,
        description=f"{text.capitalize()}.",
        epilog="Example: rodhours review logs/dunlin-2026 --out reports/dunlin --band '10 ft'",
    )
    review.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=_LOGS)
    review.add_argument(
        "--out",
        metavar="DIR",
        type=Path,
        help="folder for the review (default: reports/NAME in the cloned folder, or, where "
        "rodhours was installed without one, in the working folder; NAME is that of the first "
        "log, or demo)",
    )
    review.add_argument(
        "--tables-only",
        action="store_true",
        help="write the tables and the summary, but do not render the notebook",
    )
    review.add_argument(
        "--band",
        metavar="DEPTH",
        help="height of the depth bands with its unit, such as '10 ft' or '3 m' (the default in "
        "either unit)",
    )
    review.add_argument(
        "--rods", metavar="N", type=int, help="rods of next season's starting spread"
    )
    review.add_argument(
        "--gears",
        metavar="GEAR,GEAR",
        help="gears on board next season, as boat.toml names them (default: all of them)",
    )
    review.add_argument(
        "--plan-for",
        metavar="PERIOD",
        help="what the starting spread is for: a month such as 2026-05 or May, or season",
    )
    review.add_argument(
        "--lures",
        action="store_true",
        help="give each lure an effect of its own and compare lures at equal depth and water; "
        "names must be written alike through the season",
    )
    review.add_argument(
        "--sensitivity",
        action="store_true",
        help="also fit the field's other models (strata of hours or trips, gamma effects, pooled "
        "counts) and show their bands beside the answer's; takes a minute or more",
    )
    review.add_argument(
        "--appendix",
        action="store_true",
        help="also write season-review-appendix.html: the same page with every fold open, to "
        "print whole",
    )
    review.set_defaults(run=_review)


def _add_card(add: Callable[..., argparse.ArgumentParser]) -> None:
    text = "write the card of a day to come: each rod's line-out, how deep, how sure"
    card = add(
        "card",
        help=text,
        description=f"{text.capitalize()}. It rests on the fit that a review has stored, and fits "
        "first where there is none.",
        epilog="Example: rodhours card logs/dunlin-2026 --date 2026-07-12 --surface '64 F'",
    )
    card.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=_LOGS)
    card.add_argument("--date", metavar="DAY", required=True, help="the day, such as 2026-07-12")
    card.add_argument(
        "--surface", metavar="TEMP", help="surface temperature read that day, with its unit: '64 F'"
    )
    card.add_argument(
        "--cast",
        metavar="FILE",
        type=Path,
        help="a temperature profile of that day or the evening before: a CSV with the columns "
        "depth and temp, in the boat's units or with their own in the heading",
    )
    card.add_argument("--boat", metavar="NAME", help="which boat, where the logs are of several")
    card.add_argument("--rods", metavar="N", type=int, help="rods to put down (default: as usual)")
    card.add_argument(
        "--review",
        metavar="DIR",
        type=Path,
        help="folder of the review whose fit is to be used (default: looked for in --out and where "
        "a review goes by default)",
    )
    card.add_argument(
        "--out", metavar="DIR", type=Path, help="folder for the card (default: as of a review)"
    )
    card.set_defaults(run=_card)


def _add_weekly(add: Callable[..., argparse.ArgumentParser]) -> None:
    text = "write a club's weekly reports: page, PDF, text and figures of each week"
    weekly = add(
        "weekly",
        help=text,
        description=f"{text.capitalize()}, and index.html that lists them. Give the logs of all "
        "boats, and those of the year before to compare with. Weeks are ISO weeks; a trip belongs "
        "to the week of the local date on which it began. A week whose logs, parameters and "
        "program did not change is left as it is, so a run that was stopped goes on where it was. "
        "At least three boats stand behind every figure; with one boat's logs it is that boat's "
        "own report.",
        epilog="Example: rodhours weekly logs/*-2026 logs/*-2025 --week 2026-W27 --out club",
    )
    weekly.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=_LOGS)
    which = weekly.add_mutually_exclusive_group(required=True)
    which.add_argument("--week", metavar="WEEK", type=_one_week, help="one week: 2026-W27")
    which.add_argument(
        "--weeks",
        metavar="FIRST:LAST",
        type=_some_weeks,
        help="a range of weeks: 2026-W20:2026-W35",
    )
    which.add_argument("--all", action="store_true", help="every week of the latest season")
    weekly.add_argument(
        "--out",
        metavar="DIR",
        type=Path,
        help="folder for the reports (default: reports/weekly in the cloned folder, or, where "
        "rodhours was installed without one, in the working folder)",
    )
    weekly.add_argument(
        "--band",
        metavar="DEPTH",
        help="height of the depth bands with its unit, such as '10 ft' or '3 m'",
    )
    weekly.add_argument(
        "--units",
        metavar="UNITS",
        help="units to write in, such as 'ft,mph,F' (default: the boats' own, all of them where "
        "they differ)",
    )
    weekly.add_argument(
        "--paper", choices=("A4", "letter"), default="A4", help="paper of the PDF (default: A4)"
    )
    weekly.add_argument(
        "--replace",
        action="store_true",
        help="replace a report even by one that tells other figures of the week; only where the "
        "old one was not handed out, for whoever has both can subtract one from the other",
    )
    weekly.set_defaults(run=_weekly)


def _one_week(text: str) -> list[str]:
    """Read one week of the command line."""
    from analysis.weeks import WeekError, check_week

    try:
        return [check_week(text)]
    except WeekError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def _some_weeks(text: str) -> list[str]:
    """Read a range of weeks of the command line."""
    from analysis.weeks import WeekError, check_week, weeks_between

    first, _, last = text.partition(":")
    try:
        return weeks_between(check_week(first), check_week(last or first))
    except WeekError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def _add_depth(add: Callable[..., argparse.ArgumentParser]) -> None:
    text = "add modelled depths to a table of line-outs"
    depth = add(
        "depth",
        help=text,
        description=f"{text.capitalize()}. TABLE is a CSV with the columns gear, setting, "
        "line_out and speed, in the units and under the headings of boat.toml; speed_kind, "
        "leader_length, lead, lure, tip_height_m and rod are used where they are there, and all "
        "other columns are kept. Added are depth_m, "
        "depth_sd_m, lateral_m, setback_m, line_pull_n and depth_note, the reason where there is "
        "no depth.",
    )
    depth.add_argument("table", metavar="TABLE", type=Path, help="the CSV to read")
    whose = depth.add_mutually_exclusive_group(required=True)
    whose.add_argument("--gear", metavar="BOAT_TOML", type=Path, help="the boat's boat.toml")
    whose.add_argument(
        "--log",
        metavar="SEASON",
        type=Path,
        help="a season folder of the boat, whose soaks calibrate its gear as in the review",
    )
    depth.add_argument("--out", metavar="FILE", type=Path, required=True, help="the CSV to write")
    depth.set_defaults(run=_depth)


def _add_lab(add: Callable[..., argparse.ArgumentParser]) -> None:
    text = "open the notebooks in JupyterLab, on this machine alone"
    lab = add(
        "lab",
        help=text,
        description=f"{text.capitalize()}: no other machine is asked for anything. LOG is every "
        "notebook's season. The notebooks of a clone are worked on where they lie; else they are "
        "copied, and what is in the copy already stays as it is.",
        epilog="Example: rodhours lab logs/dunlin-2026 logs/dunlin-2025",
    )
    lab.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=_LOGS)
    lab.add_argument(
        "--port", metavar="N", type=int, help="port to use (default: the first free from 8888 on)"
    )
    lab.add_argument(
        "--folder",
        metavar="DIR",
        type=Path,
        help="where the copies of the notebooks lie (default: rodhours-notebooks at home)",
    )
    lab.add_argument(
        "--no-browser", action="store_true", help="open no browser, print the address alone"
    )
    lab.set_defaults(run=_lab)


def demo_logs() -> list[Path]:
    """Return the season folders of the demo.

    Raises
    ------
    RodhoursError
        When there are none: somebody took them away.
    """
    folders = sorted(path.parent for path in DEMO.glob("*/boat.toml"))
    if not folders:
        msg = (
            f"{DEMO}: the demo season is not here. Remedy: name a season folder, or install "
            "rodhours again."
        )
        raise RodhoursError(msg)
    return folders


@contextmanager
def _progress() -> Iterator[Callable[[str, float], None]]:
    """Show a bar on the error stream; the callback takes what is being done and how far it is."""
    from tqdm import tqdm

    with tqdm(total=100, desc="Reading", unit="%", bar_format="{desc:<24} {bar} {n:3.0f} %") as bar:

        def show(stage: str, share: float) -> None:
            bar.set_description_str(stage, refresh=False)
            bar.n = min(100.0, 100.0 * share)
            bar.refresh()

        yield show


def _start(arguments: argparse.Namespace) -> int:
    from analysis.keeping.plan import ask, plan_of, questions
    from analysis.keeping.start import start_season

    asked = questions(arguments.folder)
    told = {question.option: getattr(arguments, question.option) for question in asked}
    plan = plan_of(ask(asked, told, None if arguments.yes else input))
    made = start_season(arguments.folder, plan, as_csv=arguments.csv)
    print(f"Made in {arguments.folder}: {', '.join(file.name for file in made)}.")
    print(f"Times will be read as those of {plan.time_zone}; boat.toml says so and can be changed.")
    unknown = [rod.rod for rod in plan.rods if not rod.line_out]
    line_outs = f" and the line-out of {', '.join(unknown)}" if unknown else ""
    print(f"Once: write the leaders and lures{line_outs} into the table spreads.")
    folder = shlex.quote(str(arguments.folder))
    into = f"the notebook log_entry (rodhours lab {folder})" if arguments.csv else "season.xlsx"
    print(
        f"Print the sheet, take it aboard, and type a trip in the evening, into {into}. Then:\n"
        f"  rodhours check {folder}\n  rodhours review {folder}"
    )
    return GOOD


def _check(arguments: argparse.Namespace) -> int:
    if arguments.suggest:
        return _suggest(arguments.logs)
    if arguments.fixes and len(arguments.logs) != 1:
        msg = "--fixes needs one log: the corrections are of its rows"
        raise UsageError(msg)
    found = _read(arguments.logs or demo_logs())
    from analysis.log.twice import namesakes, refuse_twice
    from analysis.report.check import as_json, examine_log

    for why_not in (one for one in found if isinstance(one, str)):
        print(why_not, file=sys.stderr)
    logs = [log for log in found if not isinstance(log, str)]
    good = len(logs) == len(found)
    refused = ""
    try:
        refuse_twice(logs)
    except RodhoursError as error:
        refused = f"rodhours: {error}"
    read = []
    for log in logs:
        try:
            # soaks of a season given twice would count twice
            checked = examine_log(log, () if refused else logs)
        except RodhoursError as error:
            print(f"rodhours: {error}", file=sys.stderr)
            good = False
            continue
        good &= checked.passes(accept_loss=arguments.accept_loss, strict=arguments.strict)
        read.append(checked)
        if not arguments.json:
            print(checked.text)
        if arguments.fixes:
            _propose(checked, arguments.fixes)
    if arguments.json:
        print(as_json(read))
    for doubt in namesakes(logs):
        print(f"rodhours: {doubt}", file=sys.stderr)
    if refused:
        print(refused, file=sys.stderr)
    return GOOD if good and not refused else CANNOT


def _read(folders: Sequence[Path]) -> "list[SeasonLog | str]":
    """Read logs, or say what is wrong with one: it must not keep a club's others from a check."""
    from analysis.log import read_log
    from analysis.stats.beside import beside

    def read(folder: Path) -> "SeasonLog | str":
        try:
            return read_log(folder)
        except RodhoursError as error:
            return f"rodhours: {error}"

    first, *others = folders
    with beside(lambda: read(first), worth=_is_soon_sent(first)) as reading:
        import_module("analysis.report.check")  # takes as long as a season takes to read
        return [reading.result(), *map(read, others)]


def _is_soon_sent(folder: Path) -> bool:
    """Whether the log of a folder is small enough to be sent from one process to another."""
    return sum(file.lstat().st_size for file in folder.glob("*")) < _SOON_SENT_BYTES


def _propose(checked: "Checked", file: Path) -> None:
    """Write corrections for the owner to edit, and say how to go on."""
    from analysis import labels
    from analysis.report.check import propose_fixes

    count = propose_fixes(checked, file)
    print(
        f"To correct, in {file}: {labels.count(count, 'cell')}. Write into becomes what each "
        "should say, delete the other rows, and keep it as "
        f"{checked.log.folder / 'fixes.csv'}.",
        file=sys.stderr,
    )


def _suggest(folders: Sequence[Path]) -> int:
    from analysis.log.suggest.proposal import suggest

    if not folders:
        msg = "--suggest needs the folder of a log"
        raise UsageError(msg)
    for folder in folders:
        print(suggest(folder).text())
    return GOOD


def _review(arguments: argparse.Namespace) -> int:
    logs = arguments.logs or demo_logs()
    name = arguments.logs[0].resolve().name if arguments.logs else "demo"
    out = arguments.out or default_reports() / name
    if arguments.tables_only:
        return _review_tables(arguments, logs, out)
    from analysis.report.whole_review import ready_kernel, review_into

    with ready_kernel() as kernel:
        options = _options(arguments)
        with _progress() as show:
            page = review_into(logs, options, out, show, kernel, appendix=arguments.appendix)
            print(f"The season review is {page}")
    return GOOD


def _review_tables(arguments: argparse.Namespace, logs: Sequence[Path], out: Path) -> int:
    from analysis.report.card.stored_fit import fit_of, store_fit
    from analysis.report.results import write_results
    from analysis.season import analyse

    options = _options(arguments)
    with _progress() as show:
        season = analyse(logs, options, show)
    write_results(season, out)
    store_fit(fit_of(season), out)
    print(f"The result tables are in {out / TABLES}")
    return GOOD


def _options(arguments: argparse.Namespace) -> "Options":
    """Gather what was chosen of a review."""
    from analysis.season import Options

    gears = tuple(name.strip() for name in (arguments.gears or "").split(",") if name.strip())
    return Options(
        band=arguments.band,
        rods=arguments.rods,
        gears=gears or None,
        plan_for=arguments.plan_for,
        lures=arguments.lures,
        sensitivity=arguments.sensitivity,
    )


def _card(arguments: argparse.Namespace) -> int:
    from analysis.report.card.write import Wanted, write_card

    logs = arguments.logs or demo_logs()
    name = arguments.logs[0].resolve().name if arguments.logs else "demo"
    usual = default_reports() / name
    wanted = Wanted(
        day=arguments.date,
        surface=arguments.surface,
        cast=arguments.cast,
        boat=arguments.boat or (None if arguments.logs else DEMO_BOAT),
        rods=arguments.rods,
    )
    places = [usual, *([arguments.review] if arguments.review else [])]
    with _progress() as show:
        page, card = write_card(logs, wanted, arguments.out or usual, show, places=places)
    print(f"The card of {card.boat} is {page}")
    return GOOD


def _weekly(arguments: argparse.Namespace) -> int:
    from analysis.report.weekly.run import Settings, write_weeks

    logs = arguments.logs or demo_logs()
    out = arguments.out or default_reports() / "weekly"
    units = tuple(unit.strip() for unit in (arguments.units or "").split(",") if unit.strip())
    settings = Settings(
        band=arguments.band, units=units, paper=arguments.paper, replace=arguments.replace
    )
    try:
        with _progress() as show:
            run = write_weeks(logs, arguments.week or arguments.weeks, out, settings, show)
    except KeyboardInterrupt:
        print(
            "rodhours: stopped; reports already made are in place, and the same command goes on",
            file=sys.stderr,
        )
        return CANNOT
    for reason in run.no_pdf:
        print(f"rodhours: {reason}", file=sys.stderr)
    for week, problem in sorted(run.problems.items()):
        print(f"rodhours: {week}: {problem}", file=sys.stderr)
    counts = [f"{len(run.made)} made", f"{len(run.skipped)} as they were"]
    counts += [f"{len(run.problems)} not made"] if run.problems else []
    print(f"Weekly reports: {', '.join(counts)}. {out / 'index.html'} lists them.")
    return CANNOT if run.problems else GOOD


def _depth(arguments: argparse.Namespace) -> int:
    from analysis import labels
    from analysis.report.depth_command import aside_name, write_depths

    done = write_depths(arguments.table, arguments.gear, arguments.out, arguments.log)
    print(f"{labels.count(done.rows, 'row')} written to {arguments.out}")
    if done.unsolved:
        print(f"{done.unsolved} of them have no depth; the column depth_note says why")
    if done.aside:
        aside = arguments.out.parent / aside_name(arguments.out)
        print(f"{len(done.aside)} more do not fit under the headings; {aside} lists them")
    if arguments.log is not None:
        print(f"Calibrated by depth loggers: {', '.join(done.calibrated) or 'no gear'}")
    return GOOD


def _lab(arguments: argparse.Namespace) -> int:
    from analysis.workbook.lab import open_lab

    return open_lab(
        arguments.logs,
        port=arguments.port,
        folder=arguments.folder,
        browser=not arguments.no_browser,
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        What was typed after ``rodhours``; by default that of this process.

    Returns
    -------
    int
        0 when done, 1 when the log cannot be analysed or a file not written, 2 for a wish that
        this log cannot grant; wrong use exits with 2, as argparse does.
    """
    parsed = build_parser().parse_args(arguments)
    if parsed.command is None:
        print(_NEXT, end="")
        return GOOD
    try:
        code = int(parsed.run(parsed))
        sys.stdout.flush()
    except RodhoursError as error:
        print(f"rodhours: {error}", file=sys.stderr)
        return WRONG_USE if isinstance(error, UsageError) else CANNOT
    except KeyboardInterrupt:
        print("rodhours: stopped; nothing was changed", file=sys.stderr)
        return CANNOT
    except BrokenPipeError:
        # Whoever read, such as `head`, has seen enough; the rest goes nowhere, or Python would
        # complain once more at its end (Python's documentation of `signal`, "Note on SIGPIPE").
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return GOOD
    return code


if __name__ == "__main__":
    sys.exit(main())
