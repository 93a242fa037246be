"""Owns the strikes that are in doubt: by clock, by line-out, or counted twice."""

import pandas as pd

from analysis.effort.count import Effort
from analysis.log import SeasonLog

_MOVES = {
    "strikes": ("time",),
    "sets": ("line_out",),
    "spreads": ("line_out",),
    "changes": ("line_out",),
    "trips": ("start", "trip"),
}
"""By table, the columns of which a doubt moves a strike to other hours or depths."""


def strikes_in_doubt(log: SeasonLog, effort: Effort, doubted: pd.DataFrame) -> "pd.Series[str]":
    """Return why each strike is in doubt that is.

    Parameters
    ----------
    log : SeasonLog
    effort : Effort
        Of that log.
    doubted : pandas.DataFrame
        From `analysis.log.doubts.doubts_of`.

    Returns
    -------
    pandas.Series of str
        The reason, by the strike's line; a strike with several has one of them.
    """
    moving = [
        column in _MOVES.get(table, ())
        for table, column in zip(doubted["table"], doubted["column"], strict=True)
    ]
    why = doubted.loc[moving, ["table", "row", "rod", "reason"]]
    why = why.rename(columns={"row": "at", "rod": "of"})
    strikes = effort.strikes[["line", "trip", "slice", "placed"]]
    # in a grid two strikes may stand on one line
    strikes = strikes.assign(strike=range(len(strikes)))
    placed = strikes.loc[strikes["placed"]]
    set_of = effort.slices["set"].reindex(placed["slice"]).to_numpy()
    rows = (
        placed[["strike"]]
        .assign(set=set_of)
        .merge(effort.sets[["set", "table", "line", "rod"]], on="set")
        .rename(columns={"line": "at"})
    )
    trip_line = log.trips.set_index("trip")["line"]
    places = pd.concat(
        [
            rows[["strike", "table", "at", "rod"]],
            strikes[["strike"]].assign(table="strikes", at=strikes["line"]),
            strikes[["strike"]].assign(table="trips", at=strikes["trip"].map(trip_line)),
        ]
    )
    found = places.merge(why, on=["table", "at"])
    # a row of a grid says what every rod fished, and a doubt may be of one of them
    found = found.loc[(found["of"] == "") | (found["of"] == found["rod"])].drop_duplicates("strike")
    lines = strikes["line"].to_numpy()[found["strike"]]
    return pd.Series(found["reason"].to_numpy(), index=pd.Index(lines, name="line"), name="reason")
