"""Owns the season explorer: controls in, what that part of the season holds and tells out."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import numpy as np
import pandas as pd
from IPython.display import display
from markupsafe import Markup
from numpy.typing import NDArray

from analysis import labels
from analysis.errors import UsageError
from analysis.report.accessible import Named
from analysis.show.base.html import paragraph
from analysis.show.workbook import bars, words
from analysis.workbook.background import PAUSE_S, Newest
from analysis.workbook.controls import Controls
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import Part, narrowed
from analysis.workbook.parts import band_counts, hour_counts, part_rate
from analysis.workbook.season import Season
from analysis.workbook.source import Source

if TYPE_CHECKING:
    from analysis.decision.answer import Answer

MOST_LISTED = 60
NO_BAND: tuple[str, tuple[float, ...]] = ("none", ())
FIRST_PICTURE_S = 60.0
FITTING = "Working out the rate at equal conditions …"
FIRST_FIT = "Working out the season's answer, once; it is kept for the next time …"


class Explorer:
    """Controls beside what they change; counts answer at once, rates when they are worked out.

    Parameters
    ----------
    season : Season
    pause_s : float
        How long the controls must rest before a fit begins.

    Attributes
    ----------
    controls : Controls
    looked_at, table, verdict, by_hour : HTML
        What is looked at; the bands; what they tell; the hours of the day.
    band : Dropdown
        Which band's sets and strikes are listed.
    listed : HTML
    newest : Newest
        The fit under way.
    """

    def __init__(self, season: Season, pause_s: float = PAUSE_S) -> None:
        self._source: Source = season._source
        self._start = self._part = season._part
        self._fitted = pd.DataFrame()
        self._counts = pd.DataFrame()
        self._listing = threading.Lock()
        self.newest = Newest(pause_s)
        self.looked_at, self.table = widgets.HTML(), widgets.HTML()
        self.verdict, self.by_hour, self.listed = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.controls = Controls(self._source.counted, self.show)
        self.band = widgets.Dropdown(
            options=[NO_BAND],
            description="Sets and strikes of the band",
            style={"description_width": "initial"},
            layout=widgets.Layout(width="30em"),
        )
        self.band.observe(lambda _: self._list(), names="value")
        right = widgets.VBox([self.looked_at, self.table, self.verdict, self.by_hour])
        self.widget = Named(
            [widgets.HBox([self.controls.widget, right]), self.band, self.listed], in_sight=True
        )
        self.show()
        self.newest.wait_shown(FIRST_PICTURE_S)

    @property
    def _edges_m(self) -> NDArray[np.float64]:
        band_m = self.controls.band_m
        deepest = float(np.nanmax(self._source.counted.hourly.depth_m, initial=band_m))
        return band_m * np.arange(int(deepest // band_m) + 2, dtype=float)

    def show(self) -> None:
        """Begin to count and draw what the controls ask for, and to work out its rates."""
        self._offer_bands()
        wishes, edges_m = self.controls.wishes, self._edges_m
        self.newest.do(
            lambda: self._count(wishes, edges_m),
            self._failed,
            (lambda: self._answer(self._part, edges_m), self._fit_done),
        )

    def _count(self, wishes: dict[str, Any], edges_m: NDArray[np.float64]) -> None:
        counted = self._source.counted
        self._part = part = narrowed(counted, self._start, wishes)
        rate = part_rate(counted, part)
        told = f"{words.looked_at(part.said)}: {words.counted(rate)}"
        self.looked_at.value = bars.whole(paragraph(labels.opening(told)).html)
        self._counts = band_counts(counted, part, edges_m)
        known = "answer" in vars(self._source)
        waits = FITTING if known else FIRST_FIT
        if rate.strikes == 0:
            waits = words.NOTHING if rate.hours > 0 else words.NO_HOURS
            self._fitted = pd.DataFrame()
        self._draw(waits, old=True)
        self.verdict.value = ""
        self.by_hour.value = bars.whole(bars.hours(hour_counts(counted, part)))
        self._list()

    def _answer(self, part: Part, edges_m: NDArray[np.float64]) -> Answer | None:
        from analysis.workbook.judged import part_answer  # beside the first picture, not before

        if not part_rate(self._source.counted, part).strikes:
            return None
        whole = self._source.answer
        same = len(whole.hours.edges_m) == len(edges_m) and np.allclose(
            whole.hours.edges_m, edges_m
        )
        if not part.said and same:
            return whole
        return part_answer(self._source.counted, part, whole, self._source.options.seed, edges_m)

    def _fit_done(self, found: Answer | None) -> None:
        if found is None:
            return
        from analysis.show.sentences.answer import period_sentence

        table = found.table
        self._fitted = table[table["period"] == "season"]
        self._draw("")
        sentence = period_sentence(found, found.season, self._source.counted.units)
        self.verdict.value = bars.whole(paragraph(words.of_part(sentence)).html)

    def _failed(self, reason: str) -> None:
        self._fitted = pd.DataFrame()
        self._draw(f"There is no rate at equal conditions: {reason}")

    def _draw(self, waits: str, *, old: bool = False) -> None:
        dimmed = old and not self._fitted.empty
        drawn = bars.bands(
            self._counts, self._fitted, self._source.counted.units, waits=waits, old=dimmed
        )
        self.table.value = bars.whole(drawn)

    def _offer_bands(self) -> None:
        """Offer the season's bands of the height asked for; keep the water that is listed.

        Never those of a part alone: a list that changed with every move would take what is chosen
        from it for a band of another place in it.
        """
        units, chosen = self._source.counted.units, self.band.value
        counts = band_counts(self._source.counted, self._start, self._edges_m)
        fished = counts.loc[counts["rod_hours"] > 0, ["band_low_m", "band_high_m"]]
        offered = [
            (labels.band(low, high, units), (low, high))
            for low, high in fished.itertuples(index=False)
        ]
        options = [NO_BAND, *offered]
        if tuple(options) == tuple(self.band.options):
            return
        middle_m = np.mean(chosen) if chosen else np.nan
        with self.band.hold_sync():
            self.band.options = options
            kept = (band for _, band in offered if band[0] <= middle_m < band[1])
            self.band.value = next(kept, NO_BAND[1])

    def _list(self) -> None:
        """List sets and strikes of the chosen band, with their place in the log."""
        with self._listing:
            self.listed.value = self._listed(*self.band.value) if self.band.value else ""

    def _listed(self, low_m: float, high_m: float) -> Markup:
        units = self._source.counted.units
        strikes, sets = listed(self._source.counted, self._part, low_m, high_m)
        tables = bars.strikes_and_sets(
            strikes.head(MOST_LISTED),
            sets.head(MOST_LISTED),
            units,
            labels.band(low_m, high_m, units),
        )
        more = [
            f"{labels.count(len(rows) - MOST_LISTED, f'further {what}')} are not listed."
            for rows, what in ((strikes, "strike"), (sets, "set"))
            if len(rows) > MOST_LISTED
        ]
        notes = Markup().join(paragraph(line).html for line in more)
        return bars.whole(tables, notes)

    def _ipython_display_(self) -> None:
        display(self.widget)  # type: ignore[no-untyped-call]


def listed(
    counted: Counted, part: Part, low_m: float, high_m: float
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the strikes and the sets of a part between two depths.

    Returns
    -------
    strikes : DataFrame
        Rows of `Counted.strikes`.
    sets : DataFrame
        ``date, rod, gear, setting, line_out_m, lure, hours, strikes, file, line``, a row a set,
        most rod-hours first.
    """
    depth = counted.hourly.depth_m
    here = part.slices & (depth >= low_m) & (depth < high_m)
    row = counted.strikes["row"].to_numpy()
    struck = part.strikes & (row >= 0) & here[row]
    table = counted.hourly.table
    hit = np.bincount(row[struck], minlength=len(table))
    slices = table.assign(strikes=hit)[here]
    kinds = {"rod": "first", "gear": "first", "setting": "first", "line_out_m": "first"}
    sets = (
        slices.astype({"lure": object, "gear": str})
        .groupby(["log_number", "key", "set"], as_index=False)
        .agg({**kinds, "lure": "first", "hours": "sum", "strikes": "sum"})
        .sort_values("hours", ascending=False, ignore_index=True)
    )
    sets["date"] = counted.trips["date"].to_numpy()[sets["key"]]
    places = [
        counted.place_of_set(log, number)
        for log, number in zip(sets["log_number"], sets["set"], strict=True)
    ]
    sets["file"], sets["line"] = [file for file, _ in places], [line for _, line in places]
    sets["lure"] = sets["lure"].fillna("").astype(str)
    return counted.strikes[struck], sets


def explore(season: Season) -> Explorer:
    """Return the explorer of a season, or of a part of one.

    Raises
    ------
    UsageError
        For anything but a season, and for one in which no rod fished.
    """
    if not isinstance(season, Season):
        msg = f"explore() takes a season, and not {season!r}. Remedy: explore(rodhours.open(...))."
        raise UsageError(msg)
    if season.table.empty:
        msg = (
            f"{season.name}: it has no rod-hours to explore, so the log cannot tell one depth "
            "from another. Remedy: write into sets when which rod was down."
        )
        raise UsageError(msg)
    return Explorer(season)
