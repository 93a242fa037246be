"""Owns how much of a log was lost, whether some part of it lost more, and what follows."""

import zlib
from dataclasses import dataclass
from itertools import chain

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.effort.count import Effort
from analysis.effort.in_doubt import strikes_in_doubt
from analysis.log import SeasonLog
from analysis.log.doubts import doubts_of
from analysis.log.files.words import Texts, in_order, plain
from analysis.log.findings import DUPLICATE, Place
from analysis.log.lost import WHEN
from analysis.log.schema import LOGGERS, TABLES

SAID = 0.05
"""Share of the rows of a table, or of one of its parts, above which a loss is said first."""
MOST_LOST = 0.15
"""Share of a table's rows above which no verdict is clear and the log is not accepted unasked."""
MOST_UNHELD = 0.1
"""Share of the strikes that no set holds above which no verdict is clear (a rule of
ours, no source): the rates then rest on a part of the season that nobody chose."""
FEWEST_LOST = 3
"""Rows that a part must have lost to be spoken of: one bad row is no pattern."""
LEVEL = 0.01
"""Chance of calling a loss lopsided that struck rows at random, over all parts of one table."""
_DRAWS = 3999
_PARTS = ("hour", "month", "rod", "gear")
_NO_STRIKE = ("soaks", LOGGERS)  # trials: their loss is said, but no strike is lost with them


@dataclass(frozen=True, kw_only=True)
class Loss:
    """A loss of a log that is said before any answer.

    Attributes
    ----------
    table : str
    lost, read : int
        Rows of the table, or of its part; of casts whole casts. Repeated rows are not counted.
    reason : str
        The one that took most of them.
    part, of : str
        What part it is, such as ``rod`` and ``P1``; empty for the whole table.
    lopsided : tuple of str
        The parts over which the table's loss is uneven beyond chance, or may be so because the
        rows do not tell.
    caps : bool
        Whether no verdict may be clear.
    stops : bool
        Whether the log is not accepted unasked.
    unheld : bool
        Whether these are strikes that are kept, but that no set holds.
    doubted : bool
        Whether these are strikes that count, but whose hour or depth is in doubt.
    """

    table: str
    lost: int
    read: int
    reason: str
    part: str = ""
    of: str = ""
    lopsided: tuple[str, ...] = ()
    caps: bool = False
    stops: bool = False
    unheld: bool = False
    doubted: bool = False

    @property
    def share(self) -> float:
        """Share of the rows that was lost."""
        return self.lost / self.read if self.read else 0.0


def losses(log: SeasonLog, effort: Effort, doubted: pd.DataFrame | None = None) -> tuple[Loss, ...]:
    """Find what a log lost that must be said first.

    Parameters
    ----------
    log : SeasonLog
    effort : Effort
        Of that log.
    doubted : pandas.DataFrame, optional
        What `analysis.log.doubts.doubts_of` found in it, where it was asked already.

    Returns
    -------
    tuple of Loss
        Those that stop first, then the larger share of their table.
    """
    aside = pd.concat([log.set_aside, effort.set_aside], ignore_index=True)
    # a file of instruments is no table of the log: its findings say what it lost
    aside = aside.loc[aside["table"].isin(TABLES)]
    twice = aside["reason"].str.startswith(DUPLICATE)
    repeated = aside.loc[twice].groupby("table").size()
    found = list(
        chain.from_iterable(
            _of_table(log, str(table), rows, int(repeated.get(table, 0)))
            for table, rows in aside.loc[~twice].groupby("table", sort=False)
        )
    )
    if not any(loss.caps and loss.table == "strikes" for loss in found):
        found += unheld(effort.strikes)
    found += _doubted(log, effort, doubts_of(log) if doubted is None else doubted)
    return tuple(sorted(found, key=lambda loss: (-loss.stops, -loss.caps, -loss.share)))


def _of_table(log: SeasonLog, table: str, aside: pd.DataFrame, repeated: int) -> list[Loss]:
    """Find what one table lost: as a whole, or else the part that lost most of its rows."""
    named = (aside["column"] + ": ").where(aside["column"] != "", "") + aside["reason"]
    reasons = aside.assign(reason=named).drop_duplicates("row").set_index("row")["reason"]
    read = int(log.rows.set_index("table")["read"].get(table, 0)) - repeated
    lost = len(reasons)
    if lost < FEWEST_LOST and lost <= SAID * read:
        return []
    rows = _described(log, table, reasons)
    if table == "casts":  # its rows share one fate: one cast is one
        told = dict.fromkeys(("lost", "reason", *_PARTS), "max")
        # the last word by its number, which takes far less to be found than among texts
        text = [name for name in told if rows[name].dtype == "str"]
        texts = {name: in_order(rows[name]).as_ordered() for name in text}
        rows = plain(rows.assign(**texts).groupby(["trip", "moment"], as_index=False).agg(told))
        lost, read = int(rows["lost"].sum()), len(rows)
    whole = Loss(table=table, lost=lost, read=read, reason=_most(rows))
    part = _worst_part(rows, table)
    if whole.share <= SAID and part is None:
        return []
    lopsided = () if table in _NO_STRIKE else _lopsided(rows)
    grave = table not in _NO_STRIKE and (whole.share > MOST_LOST or bool(lopsided))
    said = whole if whole.share > SAID or part is None else part
    return [
        Loss(
            table=table,
            lost=said.lost,
            read=said.read,
            reason=said.reason,
            part=said.part,
            of=said.of,
            lopsided=lopsided,
            caps=grave,
            stops=grave,
        )
    ]


def _described(log: SeasonLog, table: str, reasons: "pd.Series[str]") -> pd.DataFrame:
    """Return every row of a table with its parts, ``lost`` and ``reason``, each line once."""
    of_lost = log.lost_rows.loc[log.lost_rows["table"] == table].drop(columns="table")
    of_lost = of_lost.loc[of_lost["line"].isin(reasons.index)]
    kept = getattr(log, table)
    if kept is not None and len(kept):
        when = kept.get(WHEN.get(table, "time"))
        local = None if when is None else when.dt.tz_convert(log.boat.time_zone)
        dates = log.trips.set_index("trip")["date"].dt.strftime("%Y-%m")
        blank = pd.Series("", index=kept.index, dtype="str")
        of_kept = pd.DataFrame(
            {
                "line": kept["line"],
                **{name: kept.get(name, blank) for name in ("trip", "rod", "gear")},
                "month": kept["trip"].map(dates) if "trip" in kept else "",
                "hour": np.nan if local is None else local.dt.hour.astype(float),
                # only casts are told apart by it, and times are dear to write out
                "moment": "" if local is None or table != "casts" else _written(local),
            }
        )
        of_lost = pd.concat([of_kept, of_lost], ignore_index=True) if len(of_lost) else of_kept
    rows = of_lost.drop_duplicates("line")
    return rows.assign(
        lost=rows["line"].isin(reasons.index), reason=rows["line"].map(reasons).fillna("")
    )


def _written(times: "pd.Series[pd.Timestamp]") -> Texts:
    """Write times out, each that recurs once."""
    which, each = pd.factorize(times)
    text: Texts = pd.Index(each).astype("str").to_numpy(dtype=object)
    return text[which]


def _most(rows: pd.DataFrame) -> str:
    """Return the reason that took most rows."""
    reasons = rows.loc[rows["lost"], "reason"]
    return str(reasons.value_counts().index[0]) if len(reasons) else ""


def _known(rows: pd.DataFrame, part: str) -> pd.DataFrame:
    return rows.loc[rows[part].notna() & (rows[part] != "")]


def _counted(
    known: pd.DataFrame, part: str
) -> tuple[pd.Index, NDArray[np.int64], NDArray[np.int64]]:
    """Return the values of a part in order, how many rows of each were lost, and how many read."""
    which, values = pd.factorize(known[part], sort=True)
    read = np.bincount(which, minlength=len(values))
    return values, np.bincount(which[known["lost"]], minlength=len(values)), read


def _worst_part(rows: pd.DataFrame, table: str) -> Loss | None:
    """Return the part of which the largest share above `SAID` was lost."""
    worst = None
    for part in _PARTS:
        for of, lost, read in zip(*_counted(_known(rows, part), part), strict=True):
            if lost < FEWEST_LOST or lost <= SAID * read:
                continue
            if worst is None or lost / read > worst.share:
                of_part = rows.loc[rows[part] == of]
                name = f"{of:.0f}" if part == "hour" else str(of)
                worst = Loss(
                    table=table,
                    lost=int(lost),
                    read=int(read),
                    reason=_most(of_part),
                    part=part,
                    of=name,
                )
    return worst


def _lopsided(rows: pd.DataFrame) -> tuple[str, ...]:
    """Name the parts over which a loss is uneven beyond chance, or which its rows do not tell.

    Pearson's chi-square of lost against kept over the values of each part, its chance by a
    permutation test given the margins (Monte Carlo p, Davison and Hinkley 1997, *Bootstrap
    Methods and their Application*, section 4.2, from memory); `LEVEL` is shared out equally among
    the parts (Bonferroni).
    """
    found = []
    tested = [part for part in _PARTS if len(_known(rows, part)[part].unique()) > 1]
    for part in tested:
        known = _known(rows, part)
        if 2 * int(known["lost"].sum()) < int(rows["lost"].sum()):
            found.append(part)  # most of what is lost does not tell: it may all be of one value
            continue
        _, lost, read = _counted(known, part)
        if _chance(lost, read, part) <= LEVEL / len(tested):
            found.append(part)
    return tuple(found)


def _chance(lost: NDArray[np.int64], read: NDArray[np.int64], name: str) -> float:
    """Return the chance of an unevenness as large where rows are lost at random."""
    total = int(lost.sum())
    expected = total * read / read.sum()
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    drawn = rng.multivariate_hypergeometric(read, total, size=_DRAWS, method="marginals")
    # with both margins fixed, chi-square is a constant times this
    observed = float((((lost - expected) ** 2) / read).sum())
    chance = (((drawn - expected) ** 2) / read).sum(axis=1)
    return float((1 + (chance >= observed * (1 - 1e-12)).sum()) / (1 + _DRAWS))


def _doubted(log: SeasonLog, effort: Effort, doubted: pd.DataFrame) -> list[Loss]:
    """Tell of strikes in doubt where they are more than `MOST_LOST`, as if they were lost."""
    reasons = strikes_in_doubt(log, effort, doubted)
    lost, read = len(reasons), len(log.strikes)
    if lost <= MOST_LOST * read:
        return []
    most = str(reasons.value_counts().index[0])
    return [Loss(table="strikes", lost=lost, read=read, reason=most, caps=True, doubted=True)]


def unheld(strikes: pd.DataFrame) -> list[Loss]:
    """Tell of strikes that no set holds, most often those of trips without set records.

    Parameters
    ----------
    strikes : DataFrame
        From `analysis.effort.strikes.place`, of one season folder or several.

    Returns
    -------
    list of Loss
        None where they are no more than `MOST_UNHELD`.
    """
    reasons = strikes.loc[~strikes["placed"], "reason"]
    if len(reasons) <= MOST_UNHELD * len(strikes):
        return []
    most = str(reasons.value_counts().index[0])
    return [
        Loss(
            table="strikes",
            lost=len(reasons),
            read=len(strikes),
            reason=most,
            caps=True,
            unheld=True,
        )
    ]


def costs(log: SeasonLog, effort: Effort) -> tuple[dict[Place, float], dict[Place, int]]:
    """Return what each row that does not count costs, by its table and line.

    Returns
    -------
    rod_hours : dict
        Hours of a set, where its times tell them; a trip's are those of its sets.
    strikes : dict
        A strike set aside counts itself, a set those it held.
    """
    uncounted = ~log.stretches["set"].isin(effort.sets["set"])
    sets = pd.concat(
        [log.lost_sets.assign(table="sets"), log.stretches.loc[uncounted]], ignore_index=True
    )
    hours = (sets["time_out"] - sets["time_in"]).dt.total_seconds() / 3600
    rod_hours: dict[Place, float] = {}
    for table, line, length in zip(sets["table"], sets["line"], hours, strict=True):
        if length > 0:
            place = (str(table), int(line))
            rod_hours[place] = rod_hours.get(place, 0.0) + float(length)
    lines = log.set_aside.loc[log.set_aside["table"] == "strikes", "row"]
    strikes: dict[Place, int] = {("strikes", int(line)): 1 for line in lines}
    lost = effort.strikes.loc[~effort.strikes["placed"]]
    strikes |= {("strikes", int(line)): 1 for line in lost["line"]}
    return rod_hours, strikes
