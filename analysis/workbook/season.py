"""Owns the season that a person asks: narrowed, counted, judged, compared and drawn.

What only some questions need is imported when they are asked: the first picture waits for imports
more than for anything else.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis.errors import RodhoursError, UsageError
from analysis.show.workbook import words
from analysis.show.workbook.cards import Card
from analysis.workbook.comparison import Comparison, compare_parts
from analysis.workbook.counted_part import CountedPart
from analysis.workbook.narrowing import Part, narrowed, nearest_of
from analysis.workbook.own_table import joined
from analysis.workbook.parts import part_rate
from analysis.workbook.source import Source

if TYPE_CHECKING:
    from analysis.decision.answer import Answer
    from analysis.workbook.plot import Plots
    from analysis.workbook.what_if import Boat, WhatIf

MOST_SENTENCES = 3
"""Of the review's first lines that fit on a card."""


class Season(CountedPart):
    """A season, or a part of one, that can be asked.

    It is made by `open_season`, which ``rodhours.open`` calls; `where` gives parts of it. What
    takes long is worked out when it is first asked for.

    Examples
    --------
    >>> import rodhours
    >>> season = rodhours.open(rodhours.example())
    >>> season
    Heron, 2026
      1 strike in 8 rod-hours: 0.128 strikes per rod-hour as counted (90 % interval 0.022 to
        0.499).
      This log cannot tell which depth produced: all strikes that compare rods are of one
        trip.
      Over the season the log cannot tell which depth produced: fewer than two bands were
        fished long enough to compare.
      No verdict is 'clear', because the water temperature at the lure is unknown for most
        rod-hours, so a depth cannot be told from the water that happened to be there.
      Next: .where(hours=(4, 10), gear="rigger")  .bands  .plot.rate_by_band()
        .each("lure")  .strikes  .trips  .checks
    >>> season.where(hours=(5, 7)).strikes[["species", "gear", "area", "hour", "line"]]
          species   gear         area  hour  line
    0  lake trout  diver  North Basin     6     2
    >>> season.where(gear="riger")
    Traceback (most recent call last):
    analysis.errors.UsageError: this season has no gear 'riger'; did you mean 'rigger'? There are:
    'rigger' and 'diver'.
    """

    def __init__(self, source: Source, part: Part | None = None, before: Season | None = None):
        super().__init__(source, part)
        self._before = before
        self._asked: dict[str, Boat] = {}

    @property
    def before(self) -> Season:
        """The season of the year before.

        Raises
        ------
        RodhoursError
            Where its logs were not opened along with this one's.
        """
        if self._before is None:
            folder = self._source.counted.seasons[0].log.folder.name
            msg = (
                f"no log of {self.year - 1} was opened. Remedy: name its folder too, as in "
                f'rodhours.open(["{folder}", "FOLDER OF {self.year - 1}"]).'
            )
            raise RodhoursError(msg)
        return self._before

    def where(self, **wishes: Any) -> Season:
        """Return a part of the season; parts of parts are smaller still.

        Names may be written with other capitals; several go into a list; a wrong one is refused
        with the nearest. A strike that could not be placed on a rod is in no part that asks for
        rods, hours or places.

        Parameters
        ----------
        **wishes
            ``hours=(4, 10)``, local time, over midnight as ``(22, 2)``; ``month="July"``;
            ``week=27``; ``days=("2026-07-01", "2026-07-14")``, both of them in it, None for an
            open side; ``weekday="Saturday"``; ``moon="full"``, ``"half"`` or ``"dark"``;
            ``note="choppy"``, a word of the trip's note; ``boat``, ``area``, ``species``,
            ``gear``, ``lure``, ``outcome``: names; ``setting=2``; ``depth=(60, 70, "ft")``, of the
            lure, modelled; ``trips``: ids, or a column of true and false made from `trips`.

        Returns
        -------
        Season

        Raises
        ------
        UsageError
            For a wish that the season cannot grant; it says what is allowed.

        Examples
        --------
        >>> import rodhours
        >>> rodhours.open(rodhours.example()).where(gear="rigger", hours=(5, 8)).looked_at
        'from 05:00 to 08:00, rigger'
        """
        part = narrowed(self._source.counted, self._part, wishes)
        before = self._before
        return Season(self._source, part, before)

    @cached_property
    def answer(self) -> Answer | None:
        """What was fitted and judged; None where there is nothing to fit."""
        if not self._part.said:
            return self._source.answer
        from analysis.workbook.judged import part_answer

        return part_answer(
            self._source.counted, self._part, self._source.answer, self._source.options.seed
        )

    @property
    def bands(self) -> pd.DataFrame:
        """Strikes, rod-hours and rate at equal conditions by depth band; as ``bands.csv``."""
        if self.answer is None:
            return self._source.answer.table.head(0)
        return self.answer.table.reset_index(drop=True)

    @property
    def effects(self) -> pd.DataFrame:
        """Catch-rate ratio along depth, temperature, speed, leader; as ``effects.csv``."""
        return self._source.answer.effects.head(0) if self.answer is None else self.answer.effects

    @cached_property
    def areas(self) -> pd.DataFrame:
        """Each area's rate at equal conditions against the area fished most; as ``areas.csv``."""
        from analysis.review.course.areas import AREAS, areas_table

        if self.answer is None:
            return pd.DataFrame(columns=list(AREAS))
        rng = np.random.default_rng([self._source.options.seed, 7])
        return areas_table(self.answer, self._source.counted.seasons, rng)

    @cached_property
    def checks(self) -> pd.DataFrame:
        """Checks of the fit, passed or not, each with what was found and what to do next."""
        from analysis.diagnostics.checks import check_fit, check_table

        found = self.answer
        if found is None:
            return check_table(()).head(0)
        if found.checks:
            return check_table(found.checks)
        rng = np.random.default_rng([self._source.options.seed, 5])
        return check_table(
            tuple(
                check_fit(
                    found.exposure,
                    found.fit,
                    found.levels,
                    found.choice,
                    found.hours,
                    found.season.judged,
                    rng,
                    depth_unit=self.units.depth,
                )
            )
        )

    @property
    def how_fitted(self) -> Card:
        """Which model was fitted, what it rests on, and why that one."""
        return words.fitted(self.answer)

    @cached_property
    def other_models(self) -> pd.DataFrame:
        """The judged bands by the field's other models, as ``sensitivity.csv``; takes seconds.

        Our own comes first; then strata of hours and trips, gamma effects, all pooled, and the
        two GLMs most used for such counts.
        """
        from analysis.diagnostics.sensitivity import compare_strata
        from analysis.diagnostics.usual_counts import usual_counts

        found = self.answer
        if found is None or found.fit.smoothing is None:
            return pd.DataFrame()
        rng = np.random.default_rng([self._source.options.seed, 2])
        judged = found.season.judged
        ours = compare_strata(found.exposure, found.choice.model, found.hours, judged, rng)
        usual = usual_counts(found.exposure, found.hours.edges_m, judged, rng)
        return pd.concat([ours, usual], ignore_index=True)

    @property
    def plot(self) -> Plots:
        """Pictures: ``rate_by_band()``, ``section()``, ``by_hour()``, ``areas()``, ``trip(id)``."""
        from analysis.workbook.plot import Plots

        return Plots(self._source.counted, self._part, lambda: self.bands, lambda: self.areas)

    def compare(self, other: Season) -> Comparison:
        """Compare strikes per rod-hour with another part or season.

        Where both fished at the same time they are compared at those moments; else their days
        are, and the card says so.

        Parameters
        ----------
        other : Season

        Returns
        -------
        Comparison

        Raises
        ------
        UsageError
            Where both have rod-hours in common, one has none, or the other is no season.

        Examples
        --------
        >>> import rodhours
        >>> season = rodhours.open(rodhours.example())
        >>> season.where(gear="rigger").compare(season.where(gear="diver")).together
        False
        """
        if not isinstance(other, CountedPart):
            msg = f"compare() takes a season or a part of one, and not {other!r}."
            raise UsageError(msg)
        names = (self.looked_at, other.looked_at)
        if self._source is not other._source:
            names = (self.name, other.name)
        return compare_parts(
            (names[0], self._source.counted, self._part),
            (names[1], other._source.counted, other._part),
            self._source.options.seed,
        )

    def what_if(
        self,
        rod: str,
        *,
        boat: str | None = None,
        gear: str | None = None,
        setting: float | None = None,
        line_out: float | tuple[float, str] | None = None,
        leader: float | tuple[float, str] | None = None,
        speed: float | tuple[float, str] | None = None,
        date: str | None = None,
    ) -> WhatIf:
        """Say where a rod would run, and what that would bring, were it set otherwise.

        Parameters
        ----------
        rod : str
            Its label. As it was: the gear, setting, line-out and leader that it fished most.
        boat : str, optional
            By default the first.
        gear, setting : optional
            Of boat.toml, and of its dial.
        line_out, leader, speed : optional
            In the boat's unit, or with their own, as ``(120, "ft")``; the line-out is the true
            one, not what a counter shows.
        date : str, optional
            The day, and its water, on which both are compared; by default the middle one of those
            fished.

        Returns
        -------
        WhatIf
            Depth, temperature and expected strikes per rod-hour of both, and their ratio with its
            interval. Speed counts by the depth alone.

        Raises
        ------
        UsageError
            For a rod, boat, gear, setting, number or day that cannot be.
        RodhoursError
            Where no strike compares rods, so that nothing is known of any rate.

        Examples
        --------
        >>> import rodhours
        >>> season = rodhours.open(rodhours.example())
        >>> season.what_if("P7", line_out=(120, "ft"))
        Traceback (most recent call last):
        analysis.errors.UsageError: Heron has no rod 'P7'. There are: 'S1' and 'P1'.
        """
        from analysis.workbook.rod_wishes import wished_rod

        asked = self.boat_to_ask(boat)
        was = asked.usual(rod)
        wished = wished_rod(
            asked,
            was,
            gear=gear,
            setting=setting,
            line_out=line_out,
            leader=leader,
            speed=speed,
            day=date,
        )
        return asked.what_if(was, wished)

    def boat_to_ask(self, boat: str | None = None) -> Boat:
        """Return one boat of the season, ready to be asked about its rods; by default the first.

        Examples
        --------
        >>> import rodhours
        >>> rodhours.open(rodhours.example()).boat_to_ask("Heron").name
        'Heron'
        """
        from analysis.workbook.what_if import Boat

        if self.answer is None:
            msg = f"{self.name}: {words.NOTHING}"
            raise RodhoursError(msg)
        name = self.boats[0] if boat is None else boat
        if name not in self.boats:
            raise UsageError(nearest_of("this season has no boat", name, self.boats))
        if name not in self._asked:
            seasons = self._source.counted.seasons
            log = next(at for at, one in enumerate(seasons) if one.log.boat.name == name)
            self._asked[name] = Boat(self.answer, seasons[log], log)
        return self._asked[name]

    def last_year(self) -> Comparison | Card:
        """Compare the season with the year before; a card says why where its log is not open.

        Examples
        --------
        >>> import rodhours
        >>> rodhours.open(rodhours.example()).last_year()
        Heron, 2026 against 2025
          The log cannot tell: no log of 2025 was opened. Remedy: name its folder too, as in
            rodhours.open(["heron-2026", "FOLDER OF 2025"]).
        """
        try:
            return self.compare(self.before)
        except RodhoursError as error:
            return words.cannot_compare(f"{self.name} against {self.year - 1}", str(error))

    def join(self, own: pd.DataFrame | str | Path, on: str = "date") -> Season:
        """Return the season with a table of one's own beside its trips.

        Parameters
        ----------
        own : DataFrame or path of a CSV
            One row a trip or day; its other columns are added to `trips`.
        on : str
            ``trip`` or ``date`` (``YYYY-MM-DD``).

        Returns
        -------
        Season
            Trips without a row in the table have empty cells there.

        Raises
        ------
        UsageError
            For a table without that column, with two rows for one trip or day, or that fits none.

        Examples
        --------
        >>> import pandas as pd, rodhours
        >>> wind = pd.DataFrame({"date": ["2026-07-04"], "wind_mps": [9]})
        >>> season = rodhours.open(rodhours.example()).join(wind, on="date")
        >>> season.where(trips=season.trips["wind_mps"] > 8).looked_at
        '1 chosen trip'
        """
        trips = joined(self._source.counted.trips, own, on)
        source = replace(self._source, counted=replace(self._source.counted, trips=trips))
        if "answer" in vars(self._source):
            vars(source)["answer"] = self._source.answer
        return Season(source, self._part, self._before)

    @cached_property
    def card(self) -> Card:
        """What the season says of itself: what it holds, its answer, what may be asked next."""
        rate = part_rate(self._source.counted, self._part)
        placed = self._source.counted.strikes["row"].to_numpy() >= 0
        unplaced = int((self._part.strikes & ~placed).sum())
        lines = [words.counted(rate, unplaced), *self._answer_lines(rate.hours)]
        gears = self.names("gear")
        return words.season_card(self.boats, self.year, self._part.said, lines, gears)

    def _answer_lines(self, hours: float) -> list[str]:
        found = self.answer
        if hours <= 0 or found is None:
            return [words.NO_HOURS if hours <= 0 else words.NOTHING]
        from analysis.show import sentences
        from analysis.show.sentences.answer import period_sentence

        if not self._part.said:
            return sentences.first_lines(found, self.units)[:MOST_SENTENCES]
        return [words.of_part(period_sentence(found, found.season, self.units))]

    def __repr__(self) -> str:
        """Return the card as plain text."""
        return self.card.text

    def _repr_html_(self) -> str:
        """Return the card for notebooks."""
        return self.card.html
