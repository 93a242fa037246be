"""Owns which rods a boat puts down: its own rods, sides and gears, in port and starboard pairs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from analysis.depth.kinds import Gear
from analysis.effort.on_board import lure_fished
from analysis.errors import UsageError
from analysis.log.rods import side_of_label
from analysis.rates.effects import weighted_quantile

if TYPE_CHECKING:
    from analysis.rates.build_exposure import BoatSeason

MOST_BY_DEFAULT = 8
"""Rods planned where the captain does not say, even if he usually has more down."""
MOST_RODS = 20
"""More are taken for a slip of the finger."""
SIDES = ("port", "starboard")
SideFrom = Literal["log", "label", "shared"]
SIDES_FROM: tuple[SideFrom, ...] = ("log", "label", "shared")
"""What may say on which side a rod stands, the surest first."""
LETTER = {"port": "P", "starboard": "S"}


def refuse_rods(wanted: int | None) -> None:
    """Refuse a number of rods that no boat puts down.

    Raises
    ------
    UsageError
    """
    if wanted is not None and not 1 <= wanted <= MOST_RODS:
        msg = f"{wanted} rods: give a number from 1 to {MOST_RODS}."
        raise UsageError(msg)


@dataclass(frozen=True, kw_only=True)
class Slot:
    """A rod's place on the boat, and what it usually fishes.

    Attributes
    ----------
    rod : str
    side : str
    gear : str
    hours : float
        Rod-hours it fished in the season; 0 for a rod the log does not know.
    usual_setting : float
        Its dial setting by rod-hours; NaN for gear without a dial.
    lure : str
        The lure that it fished most hours on this gear, if that dives: its name in boat.toml.
    side_from : str
        Who says on which side it stands: the ``log``, its ``label``, or nobody, and the rods of
        its gear are ``shared`` out.
    """

    rod: str
    side: str
    gear: str
    hours: float
    usual_setting: float
    lure: str = ""
    side_from: SideFrom = "log"


def slots_of(season: BoatSeason, gears: Collection[str] | None = None) -> list[Slot]:
    """Return the boat's rods by its log, each with the gear it fished most.

    Parameters
    ----------
    season : BoatSeason
    gears : collection of str, optional
        Gears on board; by default all of boat.toml. A rod that fished another one gets, of those
        on board, the one that its side fished most, else the first.

    Returns
    -------
    list of Slot
        The most used first; empty without set records, or without any of the gears.
    """
    on_board = [name for name in season.log.boat.gears if gears is None or name in gears]
    if not on_board:
        return []
    sets = season.effort.sets
    found = []
    for rod, rows in sets.groupby("rod", sort=False):
        side = str(rows.groupby("side")["hours"].sum().idxmax())
        of_gear = rows.groupby("gear")["hours"].sum()
        gear = str(of_gear.idxmax())
        if gear not in on_board:
            same_side = sets.loc[(sets["side"] == side) & sets["gear"].isin(on_board)]
            used = same_side.groupby("gear")["hours"].sum()
            gear = on_board[0] if used.empty else str(used.idxmax())
        with_gear = rows.loc[rows["gear"] == gear]
        dial = with_gear.dropna(subset=["setting"])
        found.append(
            Slot(
                rod=str(rod),
                side=side,
                gear=gear,
                hours=float(rows["hours"].sum()),
                usual_setting=weighted_quantile(
                    dial["setting"].to_numpy(dtype=float), dial["hours"].to_numpy(), 0.5
                )
                if len(dial)
                else np.nan,
                lure=lure_fished(season.log, with_gear),
            )
        )
    return _with_sides(sorted(found, key=lambda slot: (-slot.hours, slot.rod)))


def _with_sides(slots: Sequence[Slot]) -> list[Slot]:
    """Put rods whose side the log does not say where their labels say, else port and starboard."""
    found = []
    shared: Counter[str] = Counter()
    for slot in slots:
        if slot.side:
            found.append(slot)
        elif side := side_of_label(slot.rod):
            found.append(replace(slot, side=side, side_from="label"))
        else:
            side = SIDES[shared[slot.gear] % 2]
            shared[slot.gear] += 1
            found.append(replace(slot, side=side, side_from="shared"))
    return found


def usual_rods(season: BoatSeason) -> int:
    """Return the rods usually down: the median over trips, at most ``MOST_BY_DEFAULT``."""
    sets = season.effort.sets
    logged = season.log.trips["rods"].dropna()
    each = logged if len(logged) else sets.groupby("trip")["rod"].nunique()
    usual = round(float(pd.Series(each).median())) if len(each) else 0
    return min(max(usual, 1), MOST_BY_DEFAULT)


def stations(
    slots: Sequence[Slot],
    wanted: int,
    reach_m: Mapping[str, float],
    need_m: float,
    *,
    kinds: Mapping[str, Gear],
    most_divers: int,
    add: bool,
) -> list[tuple[Slot, ...]]:
    """Choose the rods to put down, port and starboard alike.

    Rods of one gear on either side make a pair; pairs whose gear reaches the depth needed come
    first, then those used most. An odd rod, or one without its like, stands alone.

    Parameters
    ----------
    slots : sequence of Slot
        `slots_of`.
    wanted : int
        Number of rods.
    reach_m : mapping of str to float
        Deepest that each gear reaches.
    need_m : float
        Upper edge of the band to cover.
    kinds : mapping of str to Gear
    most_divers : int
        Divers a side at most.
    add : bool
        Whether to fill up to the number wanted: by divers beyond ``most_divers``, and where the
        log has no more rods, by further pairs of the gear used most that reaches.

    Returns
    -------
    list of tuple of Slot
        Pairs (port first) and single rods, at most as many rods as wanted.
    """
    left: dict[str, dict[str, list[Slot]]] = {
        gear: {side: [] for side in (*SIDES, "centre")} for gear in reach_m
    }
    for slot in slots:
        left[slot.gear].setdefault(slot.side, []).append(slot)
    pairs: list[tuple[Slot, ...]] = []
    singles: list[tuple[Slot, ...]] = []
    for sides in left.values():
        count = min(len(sides["port"]), len(sides["starboard"]))
        ordered = {side: sorted(sides[side], key=inner_first) for side in sides}
        pairs += list(zip(ordered["port"][:count], ordered["starboard"][:count], strict=True))
        for side, alone in ordered.items():
            singles += [(slot,) for slot in (alone[count:] if side in SIDES else alone)]

    def worth(station: tuple[Slot, ...]) -> tuple[bool, float]:
        return not reach_m[station[0].gear] > need_m, -sum(slot.hours for slot in station)

    pairs.sort(key=worth)
    singles.sort(key=worth)
    divers = 0

    def fits(station: tuple[Slot, ...]) -> bool:
        return not kinds[station[0].gear].place.planes or divers < most_divers

    chosen: list[tuple[Slot, ...]] = []
    room = wanted
    # Pairs while there is room for two; then rods that stand alone, and halves of pairs.
    order = [*pairs, *singles, *((slot,) for pair in pairs for slot in pair)]
    for limited in (True, False) if add else (True,):
        for station in order:
            down = {slot.rod for one in chosen for slot in one}
            if len(station) > room or down & {slot.rod for slot in station}:
                continue
            if limited and not fits(station):
                continue
            chosen.append(station)
            room -= len(station)
            divers += kinds[station[0].gear].place.planes
    if room and add:
        chosen += _added(slots, room, reach_m, need_m, kinds)
    return chosen


def inner_first(slot: Slot) -> tuple[float, str]:
    """Rods that usually fish a lower setting stand farther in."""
    return (0.0 if np.isnan(slot.usual_setting) else slot.usual_setting, slot.rod)


def _added(
    slots: Sequence[Slot],
    room: int,
    reach_m: Mapping[str, float],
    need_m: float,
    kinds: Mapping[str, Gear],
) -> list[tuple[Slot, ...]]:
    """Return rods that the log does not know, in pairs; none is added that is built in."""
    free = [slot for slot in slots if not kinds[slot.gear].place.built_in] or list(slots)
    model = next((slot for slot in free if reach_m[slot.gear] > need_m), free[0])
    gear = model.gear
    names = {slot.rod for slot in slots}
    added = []
    for place in range(room):
        side = SIDES[place % 2]
        labels = (f"{LETTER[side]}{number}" for number in range(1, 100))
        rod = next(name for name in labels if name not in names)
        names.add(rod)
        added.append(Slot(rod=rod, side=side, gear=gear, hours=0.0, usual_setting=np.nan))
    return [tuple(added[place : place + 2]) for place in range(0, len(added), 2)]


def key_of(setting: float) -> float:
    """Return a setting that equals itself: -1 for none."""
    return -1.0 if np.isnan(setting) else setting


def usual_settings(slots: Sequence[Slot], gear: str, lure: str) -> list[float]:
    """Return the settings that rods with a gear and lure usually fish, each once."""
    alike = (slot for slot in slots if (slot.gear, slot.lure) == (gear, lure))
    return list({key_of(slot.usual_setting): slot.usual_setting for slot in alike}.values())
