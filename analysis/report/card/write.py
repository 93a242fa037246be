"""Owns the way from logs and a day to a card's files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.csv_files import write_csv
from analysis.places import REVIEW
from analysis.render.staging import put_in_place, staging
from analysis.report.card.given import (
    Cast,
    boat_of,
    read_cast,
    read_date,
    read_surface,
    season_for,
)
from analysis.report.card.own_files import refuse_to_replace, remember
from analysis.report.card.stored_fit import StoredFit, find_fit, fit_of, key_of, store_fit
from analysis.show.base.printed import write_pages
from analysis.show.base.style import CARD_SIZES_IN
from analysis.show.card.page import card_html
from analysis.show.card.paper import card_page
from analysis.show.card.text import plain_text
from analysis.show.card.words import NEWER, card_text, cast_note, line_why, surface_note
from analysis.show.season.words import CAUTIONS
from analysis.spread.basis import Basis
from analysis.spread.card import Card, make_card
from analysis.spread.rods import refuse_rods
from analysis.units import Units
from analysis.water.day import DOCK_SD_C, DayWater

Progress = Callable[[str, float], None]

LINES = (
    *("rod", "side", "gear", "setting", "line_out", "unit", "depth_m", "depth_sd_m"),
    *("temp_c", "temp_sd_c", "rate", "rate_low", "rate_high", "why"),
)
FILES = ("card.pdf", "card.html", "card.txt", "lines.csv")
FAR_SD = 3.0
"""Standard deviations from what the logs say at which a reading is to be checked."""
BEYOND_C = 1.0
"""How far a cast lies outside every one of `_DRAWS` waters of the day where it is to be checked."""
_DRAWS = 400


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a person asks of a card, as typed.

    Attributes
    ----------
    day : str
    surface, boat : str or None
    cast : Path or None
    rods : int or None
    """

    day: str
    surface: str | None = None
    cast: Path | None = None
    boat: str | None = None
    rods: int | None = None


def write_card(
    folders: Sequence[Path],
    wanted: Wanted,
    out_dir: Path,
    progress: Progress,
    *,
    places: Sequence[Path] = (),
) -> tuple[Path, Card]:
    """Write a card from the stored fit; where there is none, fit first and store that.

    Parameters
    ----------
    folders : sequence of Path
    wanted : Wanted
    out_dir : Path
        Gets ``card.pdf``, ``card.html``, ``card.txt``, ``lines.csv``, and the fit where none was
        found.
    progress : callable
        Told how far a fit is.
    places : sequence of Path
        Further folders that may hold the fit.

    Returns
    -------
    Path
        The page.
    Card

    Raises
    ------
    UsageError
        For a wish that cannot be granted.
    LogError
        For a log or a cast that cannot be read.
    WriteError
        When the folder cannot be written to, or holds a file of a card's name that is no card's.
    """
    refuse_rods(wanted.rods)
    day = read_date(wanted.day)
    surface_c = None if wanted.surface is None else read_surface(wanted.surface)
    refuse_to_replace(out_dir, FILES)
    fit = _stored(folders, out_dir, places, progress)
    basis = season_for(fit.boats, boat_of(fit.boats, wanted.boat), day)
    water, notes = _water_of_day(basis, day, surface_c, wanted.cast)
    begun = any((one.boat, one.season) == (basis.boat, day.year) for one in fit.boats)
    card = replace(make_card(basis, day, water, wanted.rods), begun=begun)
    _write(card, (*([NEWER] if fit.newer else []), *notes), out_dir)
    return out_dir / "card.html", card


def _stored(
    folders: Sequence[Path], out_dir: Path, places: Sequence[Path], progress: Progress
) -> StoredFit:
    everywhere = (*places, out_dir)  # a review's own fit before that of an earlier card
    fit = find_fit(everywhere, key_of(folders))
    if fit is None:
        from analysis.season import analyse  # here: seconds, and seldom needed

        newer = any((place / f"{REVIEW}.html").is_file() for place in everywhere)
        fit = replace(fit_of(analyse(folders, progress=progress)), newer=newer)
        store_fit(fit, out_dir)
    return fit


def _water_of_day(
    basis: Basis, day: date, surface_c: float | None, cast: Path | None
) -> tuple[DayWater | None, tuple[str, ...]]:
    """Return what is known of the day's water, and what is to be said of its thermometers."""
    since_1970 = (day - date(1970, 1, 1)).days
    water = None if basis.water is None else basis.water.on(since_1970)
    notes = []
    profile = None if cast is None else read_cast(cast, basis.units)
    if water is None:
        if surface_c is not None or profile is not None:
            notes.append(
                "No log has measured this water below its surface: the day's thermometers "
                "cannot be compared with anything and are left out."
            )
        return None, tuple(notes)
    if surface_c is not None:
        notes.append(_of_surface(surface_c, water, basis.units))
        water = water.with_surface(surface_c)
    if profile is not None:
        notes.append(_of_cast(profile, water, basis.units))
        water = water.with_cast(profile.depth_m, profile.temp_c)
    return water, tuple(notes)


def _of_surface(surface_c: float, water: DayWater, units: Units) -> str:
    usual = water.surface
    far = abs(surface_c - usual[0]) > FAR_SD * float(np.hypot(usual[1], DOCK_SD_C))
    return surface_note(surface_c, usual, far, units)


def _of_cast(cast: Cast, water: DayWater, units: Units) -> str:
    """Say that a cast is used, and where it is farthest from what was known of the day, if far."""
    draws = water.temp_draws(cast.depth_m, _DRAWS, np.random.default_rng(0))
    # no normal doubt: about the thermocline a cast may be as warm as above it, or as cold as below
    away = np.maximum(draws.min(axis=1) - cast.temp_c, cast.temp_c - draws.max(axis=1))
    worst = int(np.argmax(away))
    usual = float(draws[worst].mean()), float(draws[worst].std())
    odd = (float(cast.depth_m[worst]), float(cast.temp_c[worst]), usual)
    return cast_note(len(cast.depth_m), odd if away[worst] > BEYOND_C else None, units)


def lines_table(card: Card) -> pd.DataFrame:
    """Return the table ``lines.csv`` of the contract, a row a rod."""
    rows = [{**vars(line), "why": line_why(line)} for line in card.lines]
    return pd.DataFrame(rows, columns=list(LINES))


def _write(card: Card, notes: tuple[str, ...], out_dir: Path) -> None:
    """Put a card's files in place together."""
    text = card_text(card, notes)
    with staging(out_dir) as scratch:
        write_pages((card_page(text, size=size) for size in CARD_SIZES_IN), scratch / "card.pdf")
        (scratch / "card.html").write_text(card_html(text, CAUTIONS), encoding="utf-8")
        (scratch / "card.txt").write_text(plain_text(text, CAUTIONS), encoding="utf-8")
        write_csv(lines_table(card), scratch / "lines.csv")
        remember(scratch, FILES)
        put_in_place(scratch, out_dir)
