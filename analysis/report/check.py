"""Owns what `rodhours check` says of a log: what it lost, its findings, what its gaps cost."""

import json
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

import pandas as pd

from analysis import labels
from analysis.depth.calibrate import Calibration
from analysis.effort import Effort, Gap, count_effort
from analysis.effort.found import look
from analysis.effort.gaps import Further, without_hours
from analysis.effort.losses import Loss
from analysis.effort.on_board import calibrations_of
from analysis.log import SeasonLog, read_log
from analysis.log.files.folder import read_tables, season_files
from analysis.log.findings import Finding
from analysis.log.fixes import proposed, write_fixes
from analysis.log.instruments.recorded import Recorded
from analysis.rates.build_exposure import (
    BoatSeason,
    further_of,
    gaps_of,
    usual_doubts,
)
from analysis.rates.slice_depths import why_no_depth
from analysis.show.base.tables import by_log
from analysis.show.depth.trial_words import trial_sentences
from analysis.show.season.log_words import (
    MOST_FINDINGS,
    finding_words,
    first_words,
    kept_of,
)
from analysis.stats.beside import beside
from analysis.stats.threads import one_thread
from analysis.units import Units
from analysis.water.waters import KnownWater, water_of

_WIDTH = 96


@dataclass(frozen=True, kw_only=True)
class Checked:
    """A log that was read and vetted.

    Attributes
    ----------
    log : SeasonLog
    rod_hours : float
    lacking : str
        What keeps it from being analysed in full; empty for nothing.
    losses : tuple of Loss
        What is said before anything else.
    findings : tuple of Finding
        The one that matters most first.
    gaps : tuple of Gap
    set_aside, doubted : pandas.DataFrame
        Every row that does not count, and every one that is doubted, with reason and remedy.
    trials : tuple of str
        What the depth-logger trials of each gear tell, a text a gear that has any.
    """

    log: SeasonLog
    rod_hours: float
    lacking: str
    losses: tuple[Loss, ...]
    findings: tuple[Finding, ...]
    gaps: tuple[Gap, ...]
    set_aside: pd.DataFrame
    doubted: pd.DataFrame
    trials: tuple[str, ...]

    def passes(self, *, accept_loss: bool = False, strict: bool = False) -> bool:
        """Tell whether the log can be analysed as it is.

        Parameters
        ----------
        accept_loss : bool
            Whether a great or lopsided loss is put up with.
        strict : bool
            Whether any finding but a cosmetic one is too much.
        """
        if strict and any(finding.severity != "cosmetic" for finding in self.findings):
            return False
        return accept_loss or not any(loss.stops for loss in self.losses)

    @property
    def text(self) -> str:
        """What to print."""
        log = self.log
        counts = log.rows[["table", "kept", "read"]].itertuples(index=False)
        rows = {(log.folder.name, table): kept_of(kept, read) for table, kept, read in counts}
        first = first_words(self.losses)
        if not self.passes():
            first.append(
                "It is not fit to be analysed as it is: put this right, or say --accept-loss."
            )
        elif self.lacking:
            first.append(
                f"It can be analysed in part: it has {self.lacking}. Nothing can be said of rates "
                "and depths."
            )
        else:
            first.append("It can be analysed.")
        head = (
            f"{log.folder}: {log.boat.name}, {log.year}: {labels.count(len(log.trips), 'trip')}, "
            f"{labels.number(self.rod_hours)} rod-hours, "
            f"{labels.count(len(log.strikes), 'strike')}."
        )
        parts = [
            " ".join([head, *first]) if not self.losses else " ".join(first) + "\n" + head,
            f"Rows kept of those read:\n{by_log(rows, 'Rows kept of those read').text()}",
            *([_as_read(log.notes)] if log.notes else []),
            _listed(self.findings),
            _lacking(self.gaps),
            *(["Trials with a depth logger:\n" + "\n".join(self.trials)] if self.trials else []),
        ]
        return "\n\n".join(parts) + "\n"

    def record(self) -> dict[str, object]:
        """Return the same for programs, ready for JSON."""
        return {
            "log": str(self.log.folder),
            "boat": self.log.boat.name,
            "season": self.log.year,
            "trips": len(self.log.trips),
            "rod_hours": self.rod_hours,
            "strikes": len(self.log.strikes),
            "can_be_analysed": self.passes(),
            "lacking": self.lacking,
            "notes": self.log.notes,
            "losses": [asdict(loss) | {"share": loss.share} for loss in self.losses],
            "findings": [asdict(found) | {"count": found.count} for found in self.findings],
            "gaps": [asdict(gap) for gap in self.gaps],
            "trials": list(self.trials),
            "rows": self.log.rows.to_dict("records"),
        }


def examine(folder: Path) -> Checked:
    """Read and vet one season folder.

    Raises
    ------
    LogError
        When the folder as a whole cannot be read.
    """
    return examine_log(read_log(folder))


@one_thread
def examine_log(log: SeasonLog, others: Sequence[SeasonLog] = ()) -> Checked:
    """Vet a log that was read; soaks of the boat's further seasons count as in a review."""
    effort = count_effort(log)
    thermometers = log.casts is not None or log.readings is not None
    with beside(lambda: _water(log, effort), worth=thermometers) as measured:
        calibrations = calibrations_of(log, others)
        unsolved = why_no_depth(log, effort, calibrations)
        untried = usual_doubts(calibrations)
        trials = tuple(_trials(calibrations, log.boat.units))
        told = cache(measured.result)
        found = look(log, effort, lambda: [told()[0].doubts_of(log)])
        water, further = told()
    season = BoatSeason(log=log, effort=effort, water=water, calibrations=calibrations)
    gaps = gaps_of(season, unsolved=unsolved, untried=untried, further=further)
    return Checked(
        log=log,
        rod_hours=float(effort.slices["hours"].sum()),
        lacking=without_hours(log, effort),
        losses=found.losses,
        findings=found.findings,
        gaps=tuple(gaps),
        set_aside=found.set_aside,
        doubted=found.doubted,
        trials=trials,
    )


def _water(log: SeasonLog, effort: Effort) -> tuple[KnownWater, Further | None]:
    """Fit the water that a log measured, and tell what further thermometers would buy."""
    water = water_of([log])
    return water, further_of(BoatSeason(log=log, effort=effort, water=water, calibrations={}))


def propose_fixes(checked: Checked, file: Path) -> int:
    """Write proposed corrections of a log for its owner to edit; return how many.

    Parameters
    ----------
    checked : Checked
    file : pathlib.Path
        The file to write; one that is there is never touched.

    Raises
    ------
    LogError
        Where the file is there already or cannot be written.
    """
    log = checked.log
    files = season_files(log.folder)
    tables = read_tables(log.folder, files, log.boat.wording, Recorded.of(files).untold)
    fixes = proposed(tables, checked.set_aside, checked.doubted)
    write_fixes(fixes, file)
    return len(fixes)


def _trials(calibrations: Mapping[str, Calibration], units: Units) -> Iterator[str]:
    """Say of each gear that was tried what its trials tell, and which to do next."""
    for gear, done in calibrations.items():
        if not done.trials.columns.size:
            continue
        told = trial_sentences(done.notes, done.next_trial, units)
        used = labels.count(done.belief.trials, "trial")
        yield _wrapped(f"- {gear}, {used} used: {' '.join(told)}")


def as_json(checked: list[Checked]) -> str:
    """Write logs that were checked for programs."""
    return json.dumps([one.record() for one in checked], indent=2, ensure_ascii=False)


def _lacking(gaps: tuple[Gap, ...]) -> str:
    """List what the log does not tell, and what each gap costs."""
    if not gaps:
        return "No gap costs this log anything."
    lines = [_wrapped(f"- {gap.what}: {gap.cost}. Remedy: {gap.remedy}.") for gap in gaps]
    return "What the log lacks:\n" + "\n".join(lines)


def _as_read(notes: Sequence[str]) -> str:
    """List how tables and columns were read."""
    return "How it was read:\n" + "\n".join(_wrapped(f"- {note}") for note in notes)


def _listed(findings: tuple[Finding, ...]) -> str:
    """List the findings that matter most."""
    if not findings:
        return "Findings: none."
    lines = [_wrapped(f"- {finding_words(finding)}") for finding in findings[:MOST_FINDINGS]]
    more = len(findings) - len(lines)
    if more:
        lines.append(
            f"- and {labels.count(more, 'finding')} more, of less weight: --json lists all, and "
            "the tables of the review every row."
        )
    return f"Findings ({len(findings)}), those that matter most first:\n" + "\n".join(lines)


def _wrapped(text: str) -> str:
    """Break a line for a terminal, its continuation indented."""
    return textwrap.fill(text.replace("?.", "?"), _WIDTH, subsequent_indent="  ")
