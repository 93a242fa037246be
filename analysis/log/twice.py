"""Owns the refusal of a season given twice: each trip of a boat may count once."""

from collections.abc import Sequence
from itertools import combinations

import pandas as pd

from analysis.errors import LogError
from analysis.log.read import SeasonLog
from analysis.log.rods import rod_key
from analysis.log.wording.spelling import same_name


def refuse_twice(logs: Sequence[SeasonLog]) -> None:
    """Refuse season folders of which two would count the same fishing twice.

    Parameters
    ----------
    logs : sequence of SeasonLog
        All that are to be analysed together.

    Raises
    ------
    LogError
        Where two hold the same trips and strikes, whatever their boats are called, or where trips
        of one boat overlap in time: a copy of a log, or a later state of it.
    """
    for first, second in combinations(logs, 2):
        if _same_rows(first, second):
            msg = f"this season folder holds the same trips and strikes as {first.folder}"
            remedy = "give only one of the two"
        elif both := _overlaps(first, second):
            msg = (
                f"this season folder and {first.folder} are both of {second.boat.name}, and"
                f" {len(both)} of its {len(second.trips)} trips overlap with trips there; the"
                f" first is {both[0]}"
            )
            remedy = (
                "give only the fuller of the two; if both are right, correct the times of the"
                " trips or the name of the boat"
            )
        else:
            continue
        raise LogError(msg, file=second.folder, remedy=remedy)


def namesakes(logs: Sequence[SeasonLog]) -> list[str]:
    """Tell of logs of one year and one name of boat that seem to be of two boats.

    Parameters
    ----------
    logs : sequence of SeasonLog
        All that are to be analysed together.

    Returns
    -------
    list of str
        A sentence for each pair whose gears differ, or whose rods are mostly others.
    """
    return [
        f"In doubt: {first.folder} and {second.folder} are both of {second.boat.name}, and their "
        "gears or rods differ: all counts as one boat's. Remedy: if these are two boats, give "
        "each a name of its own in boat.toml."
        for first, second in combinations(logs, 2)
        if same_name(first.boat.name) == same_name(second.boat.name)
        and first.year == second.year
        and _other_boat(first, second)
    ]


def _other_boat(first: SeasonLog, second: SeasonLog) -> bool:
    """Tell whether the gears of two logs differ, or most of their rods."""
    rods = [{rod_key(rod) for rod in log.stretches["rod"]} for log in (first, second)]
    few_shared = all(rods) and 2 * len(rods[0] & rods[1]) < len(rods[0] | rods[1])
    return few_shared or set(first.boat.gears) != set(second.boat.gears)


def _same_rows(first: SeasonLog, second: SeasonLog) -> bool:
    """Tell whether two logs have the same trips and strikes; no strike is no proof."""
    return len(first.strikes) > 0 and all(
        _written(one).equals(_written(other))
        for one, other in ((first.trips, second.trips), (first.strikes, second.strikes))
    )


def _written(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.drop(columns="line")


def _overlaps(first: SeasonLog, second: SeasonLog) -> list[str]:
    """Return the trips of the second log that overlap with trips of the first, of one boat."""
    if same_name(first.boat.name) != same_name(second.boat.name):
        return []
    start, end = first.trips["start"], first.trips["end"]
    mine = second.trips
    return [
        trip
        for trip, begin, over in zip(mine["trip"], mine["start"], mine["end"], strict=True)
        if ((start < over) & (begin < end)).any()
    ]
