"""Owns the weekly reports: which weeks, from figures or from a fit, made or skipped, listed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path

from analysis.errors import UsageError
from analysis.render.page import can_print
from analysis.render.staging import only_run, put_in_place, staging
from analysis.report.fingerprints import digest, inputs_digest, program_digest
from analysis.report.weekly.store import (
    NOTEBOOK,
    Figures,
    is_whole,
    published,
    read_store,
    write_store,
)
from analysis.report.weekly.told import Tellings, beside, fingerprint, tellings
from analysis.report.weekly.workers import Tools, make_weeks
from analysis.units import UNITS, band_height_m

NAME = "weekly"
FORMS = ("html", "txt", "json")
"""Files that every report has."""
PDF = "pdf"
"""The file it has where something can print it."""
INDEX = "index.html"

Progress = Callable[[str, float], None]
_FITTED = 0.5
"""Share of the work that is done when all figures are there."""


@dataclass(frozen=True, kw_only=True)
class Settings:
    """What a person may choose of the weekly reports.

    Attributes
    ----------
    band : str or None
        Height of the depth bands, as `analysis.season.Options` takes it.
    units : tuple of str
        Units to write in, such as ``("ft", "F")``; for what none of them measures, and by
        default, the boats' own, all of them where they differ.
    paper : str
        ``A4`` or ``letter``.
    replace : bool
        Replace a report even by one that tells other figures of the same week.
    """

    band: str | None = None
    units: tuple[str, ...] = ()
    paper: str = "A4"
    replace: bool = False

    def __post_init__(self) -> None:
        """Refuse bands of an absurd height, and a unit that nothing is measured in.

        Raises
        ------
        UsageError
        """
        if self.band is not None:
            band_height_m(self.band)
        known = sorted({unit for units in UNITS.values() for unit in units})
        for unit in self.units:
            if unit not in known:
                msg = f"no unit {unit!r}. Remedy: use some of {', '.join(known)}."
                raise UsageError(msg)


@dataclass(kw_only=True)
class Run:
    """What a run did.

    Attributes
    ----------
    made, skipped : list of str
        Weeks whose reports were made, and those whose reports were as they would be.
    problems : dict of str to str
        Week -> why it has no new report.
    no_pdf : list of str
        Reasons for missing PDFs, each once.
    """

    made: list[str] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)
    problems: dict[str, str] = field(default_factory=dict)
    no_pdf: list[str] = field(default_factory=list)


def write_weeks(
    folders: Sequence[Path],
    weeks: Sequence[str] | None,
    out_dir: Path,
    settings: Settings | None = None,
    progress: Progress | None = None,
    workers: int | None = None,
) -> Run:
    """Write the reports of some weeks, and the page that lists all reports of the folder.

    Parameters
    ----------
    folders : sequence of Path
        Season folders of a club's boats, or of one boat; of the year before, too, to compare.
    weeks : sequence of str or None
        ISO weeks; None for all of the latest season.
    out_dir : Path
    settings : Settings, optional
    progress : callable, optional
        Told what is being done and how far it is, 0 to 1.
    workers : int, optional
        How many reports to make at once; by default as many as there are cores.

    Returns
    -------
    Run

    Raises
    ------
    LogError
        Where a log cannot be read; nothing is written then.
    SharingError
        Where the logs are of two boats that do not both allow it.
    WriteError
        When the folder cannot be written to, or another run writes there.
    """
    chosen = settings or Settings()
    tell = progress or _silent
    with only_run(out_dir, NAME), Tools() as tools:
        figures = figures_of(folders, weeks, out_dir, chosen, tell, tools.start)
        old = published(out_dir)
        run = Run()
        waiting = []
        for week, content in figures.items():
            if "problem" in content:
                run.problems[week] = content["problem"]
            elif _as_it_would_be(content, old.get(week), out_dir):
                run.skipped.append(week)
            else:
                waiting.append(content)
        for number, done in enumerate(make_weeks(waiting, out_dir, tools, workers), 1):
            share = _FITTED + (1 - _FITTED) * number / len(waiting)
            tell(f"{done.week} ({number} of {len(waiting)})", share)
            if done.problem:
                run.problems[done.week] = done.problem
                continue
            run.made.append(done.week)
            if done.no_pdf and done.no_pdf not in run.no_pdf:
                run.no_pdf.append(done.no_pdf)
        if run.made or not (out_dir / INDEX).is_file():
            _write_index(out_dir)
    tell("Done", 1.0)
    run.made.sort()
    return run


def _silent(stage: str, share: float) -> None:
    """Tell nobody."""


def figures_of(
    folders: Sequence[Path],
    weeks: Sequence[str] | None,
    out_dir: Path,
    settings: Settings,
    tell: Progress,
    meanwhile: Callable[[], None] | None = None,
) -> dict[str, Figures]:
    """Return the figures of the weeks asked for, from the store where it has them.

    Where they have to be worked out, ``meanwhile`` first starts what gets ready by itself.

    Of a week that has none, or that is held back because other figures of it were told before,
    only ``week`` and ``problem``.
    """
    tell("Comparing with the last run", 0.0)
    inputs = inputs_digest(folders)
    made_of = [inputs, program_digest(NOTEBOOK), settings.band or "", *settings.units]
    key = digest([*made_of, "replace" if settings.replace else ""])
    store = read_store(out_dir, key) or {"key": key, "all": None, "weeks": {}}
    asked = weeks if weeks is not None else store["all"]
    told = _told_before(out_dir, asked, settings)
    if asked is None or not all(_stored(store, week, told) for week in asked):
        if meanwhile is not None:
            meanwhile()
        from analysis.report.weekly.fit import fit_into  # here: heavy, and often not needed

        def part(stage: str, share: float) -> None:
            tell(stage, _FITTED * share)

        fit_into(store, folders, weeks, settings.band, settings.units, part)
        asked = weeks if weeks is not None else store["all"]
        told = _told_before(out_dir, asked, settings)
        every = {week: _beside(content, told) for week, content in store["weeks"].items()}
        # What may not be told is not stored either; a fault may be gone the next time.
        kept = {week: each for week, each in every.items() if is_whole(each) or "beside" in each}
        write_store(out_dir, {**store, "weeks": kept})
        store["weeks"] = every
    found = {}
    for week in asked or ():
        content = _beside(store["weeks"][week], told)
        if not is_whole(content):
            found[week] = {"week": week, "problem": content["problem"]}
            continue
        made_with = {
            "version": version("rodhours"),
            "parameters": {"paper": settings.paper, **store["parameters"]},
            "inputs": inputs,
            "hash": digest([*made_of, settings.paper, week, str(content)]),
        }
        found[week] = {**content, "made_with": made_with}
    return found


def _told_before(out_dir: Path, asked: Sequence[str] | None, settings: Settings) -> Tellings:
    """Return what reports told that this run does not replace by leave."""
    leaving = {f"{week}.json" for week in asked or ()} if settings.replace else set()
    return tellings(out_dir, leaving)


def _beside(content: Figures, told: Tellings) -> Figures:
    return beside(content, told) if is_whole(content) else content


def _stored(store: Figures, week: str, told: Tellings) -> bool:
    """Tell whether the store has a week's figures, or rightly the mark that it is held back."""
    content = store["weeks"].get(week)
    if content is None or is_whole(content):
        return content is not None
    return bool(content["beside"] == fingerprint(told.get(week, ())))


def _as_it_would_be(content: Figures, old: Figures | None, out_dir: Path) -> bool:
    """Tell whether a week's report is there, whole, and made of the same with the same."""
    if old is None or old.get("made_with", {}).get("hash") != content["made_with"]["hash"]:
        return False
    # The figures are put in place last, so that a report of this fingerprint is whole, unless
    # somebody took a file away; and a PDF that could not be printed then may be possible now.
    there = {form for form in (*FORMS, PDF) if (out_dir / f"{content['week']}.{form}").is_file()}
    return there >= set(FORMS) and (PDF in there or not can_print())


def _write_index(out_dir: Path) -> None:
    """Put the page that lists the folder's reports in place."""
    from analysis.report.weekly.pages import index_page  # here: heavy, and not needed to skip

    page = index_page(published(out_dir), lambda week: (out_dir / f"{week}.{PDF}").is_file())
    with staging(out_dir) as scratch:
        (scratch / INDEX).write_text(page, encoding="utf-8")
        put_in_place(scratch, out_dir)
