"""Owns the way from a club's logs to the figures of all weeks: read, fit once, work out, plain."""

from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path

from analysis.errors import reason_of
from analysis.rates.build_exposure import combine
from analysis.report.results import plain
from analysis.report.weekly.rounding import as_shown
from analysis.report.weekly.store import Figures
from analysis.season import Options, joined, read_seasons, season_answer
from analysis.show.base.many_units import ManyUnits
from analysis.show.sentences.caps import cap_words
from analysis.stats.threads import one_thread
from analysis.weekly.club_log import Logbook
from analysis.weekly.water import CONDITIONS
from analysis.weekly.week import FittedYear, WeekFault, logs_of, week_figures
from analysis.weeks import WeekError, weeks_between

Progress = Callable[[str, float], None]


@one_thread
def fit_into(
    store: Figures,
    folders: Sequence[Path],
    weeks: Sequence[str] | None,
    band: str | None,
    units: Sequence[str],
    tell: Progress,
) -> None:
    """Read, fit, and put the figures of every week of the seasons asked for into the store.

    Parameters
    ----------
    store : dict
        Gets ``parameters``, ``all`` (the weeks of the latest season) and ``weeks``; of a week
        whose figures could not be worked out, ``week`` and ``problem``.
    folders : sequence of Path
    weeks : sequence of str or None
        Weeks asked for; None for all of the latest season.
    band : str or None
        As `analysis.season.Options` takes it.
    units : sequence of str
        Units to write in, of those that the boats' quantities have; none for the boats' own.
    tell : callable
        Told what is being done and how far the figures are, 0 to 1.

    Raises
    ------
    WeekError
        For a week of a year of which there is no trip in any log.
    """
    seasons = read_seasons(folders, lambda stage, share: tell(stage, 0.4 * share))
    book = Logbook.of(seasons)
    many = ManyUnits.of(season.log.boat.units for season in seasons)
    many = many.chosen(units) if units else many
    _logged_years(book, weeks or ())
    options = Options(band=band)
    store["parameters"] = {
        "band_m": options.band_m(many.first),
        "seed": options.seed,
        "units": {quantity: list(names) for quantity, names in many.choices.items()},
    }
    latest = max(season.log.year for season in seasons)
    store["all"] = _weeks_of(book, _logs_of_year(book, latest))
    asked = store["all"] if weeks is None else weeks
    every = set(asked)
    years = []
    unfitted: dict[str, str] = {}
    for year in sorted(
        {book.seasons[log].log.year for week in asked for log in logs_of(book, week)}
    ):
        logs = _logs_of_year(book, year)
        every |= set(_weeks_of(book, logs))
        mine = [seasons[log] for log in logs]
        if not any(len(season.effort.slices) for season in mine):
            continue  # no set records, no model
        tell(f"Fitting the season of {year}", 0.5)
        try:
            exposure = combine(joined(mine, vetted=mine))
            answer = season_answer(
                mine, exposure, options, many.first, checked=False, apart=CONDITIONS
            )
            years.append(FittedYear(book, logs, answer, cap_words))
        except Exception as error:  # noqa: BLE001 - one season's fault must not stop another's weeks
            # A week told without its depths would look as if nobody had written down sets.
            unfitted |= {week: reason_of(error) for week in every if logs_of(book, week) & {*logs}}
    tell("Working out the weeks", 0.9)
    for week, figures in week_figures(book, sorted(every), years).items():
        if isinstance(figures, WeekFault) or week in unfitted:
            why = figures.reason if isinstance(figures, WeekFault) else unfitted[week]
            store["weeks"][week] = {"week": week, "problem": why}
            continue
        content = plain(asdict(as_shown(figures, many)))
        content["units"] = store["parameters"]["units"]
        store["weeks"][week] = content


def _logged_years(book: Logbook, weeks: Sequence[str]) -> None:
    """Refuse weeks of a year in which no log has a trip: 'no trips' would be no answer."""
    logged = sorted({str(week)[:4] for week in book.trips["week"]})
    for week in weeks:
        if week[:4] not in logged:
            msg = (
                f"{week}: no log has a trip of {week[:4]}, only of {', '.join(logged)}. Remedy: "
                "name a week of these years, or give the logs of that year."
            )
            raise WeekError(msg)


def _logs_of_year(book: Logbook, year: int) -> tuple[int, ...]:
    return tuple(log for log, season in enumerate(book.seasons) if season.log.year == year)


def _weeks_of(book: Logbook, logs: Sequence[int]) -> list[str]:
    """Return all weeks from the first to the last trip of some season folders."""
    weeks = book.trips.loc[book.trips["log_number"].isin(logs), "week"]
    return weeks_between(str(weeks.min()), str(weeks.max()))
