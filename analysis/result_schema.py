"""Owns the schema of each result file: the columns it may have, with unit and meaning."""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from analysis.names import COLUMNS, FRAMES, Column


class SchemaError(Exception):
    """A table or column is to be written that the schema does not know: a fault of the program."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """One result file.

    Parameters
    ----------
    meaning : str
        What one of its rows is.
    columns : tuple of Column
        What it may hold, in the order of the file.
    """

    meaning: str
    columns: tuple[Column, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns."""
        return tuple(column.name for column in self.columns)

    @property
    def unworded(self) -> list[str]:
        """Names of the columns but for the wording, which is put in where it is shown."""
        return [name for name in self.names if name != "wording"]


def _table(meaning: str, *names: str | Column) -> Table:
    """Make a table of columns by name, or of its own where the meaning is its own."""
    columns = tuple(COLUMNS[name] if isinstance(name, str) else name for name in names)
    return Table(meaning=meaning, columns=columns)


def _own(name: str, unit: str, meaning: str) -> Column:
    return Column(name=name, unit=unit, meaning=meaning)


_TACKLE = ("side", "gear", "setting", "line_out_m", "lead_m", "leader_length_m", "lure")
_BAND = ("band_low_m", "band_high_m")
_NAMED = ("named_rate", "named_rate_low", "named_rate_high")
_RATES = ("rate", "rate_low", "rate_high")
_RATIO = ("ratio", "low", "high")
_JUDGED = (
    *("period", *_BAND, "rod_hours", "strikes", "raw_rate", *_RATES),
    *("p_best", "named", "p_named", "verdict", "judged", "p_near", *_NAMED),
)
_ASIDE = ("table", "row", "column", "value", "reason", "remedy", "log")
_SHARE = (_own("low", "-", "5 % bound of the share"), _own("high", "-", "95 % bound of the share"))
_PER_HOURS = (
    _own("low", "1/(100 h)", "5 % bound of the number in 100 hours"),
    _own("high", "1/(100 h)", "95 % bound of the number in 100 hours"),
)

RESULTS = MappingProxyType(
    {
        "exposure": _table(
            "a slice of time in which one rod fished alike",
            *("boat", "season", "trip", "rod", *_TACKLE, "set", "source", "start", "end", "hours"),
            *("speed_mps", "speed_kind", "surface_temp_c", "turn_rad_s", "strikes", "landed"),
            *("depth_m", "depth_sd_m", "lateral_m", "setback_m", "line_pull_n", "depth_note"),
            *("gear_setting", _own("day", "-", "day of the year"), "period"),
            *("lure_temp_c", "lure_temp_sd_c", "lure_temp_note", "log_number"),
        ),
        "water": _table(
            "the water's temperature at one depth on one day",
            *("water", "day", "depth_m", "temp_c", "temp_sd_c"),
            _own("source", "text", "what tells it: cast, logger, probe, surface or season"),
        ),
        "best_water": _table(
            "where the highest rate of a week lay",
            "week",
            _own("day", "local date", "middle of the days fished that week"),
            _own("depth_m", "m", "depth of the highest rate, median"),
            _own("depth_low_m", "m", "5 % bound of that depth"),
            _own(
                "depth_high_m",
                "m",
                "95 % bound of that depth; empty where it may be deeper than rods were",
            ),
            *("temp_c", "told"),
        ),
        "certainty": _table(
            "how the doubt about a month's best depth splits between fish and water",
            "period",
            _own("depth_sd_m", "m", "standard deviation of the depth of the highest rate"),
            *("water_share", "water_known_m", "apart"),
        ),
        "worth": _table(
            "a month's doubt about the thermocline's depth, and what thermometers leave of it",
            *("water", "period", "now_m", "fortnight_m", "probe_m", "logger_m", "each_trip_m"),
        ),
        "thermometers": _table(
            "how deep a day's thermometers of one kind reached below the surface of a water",
            *("water", "day"),
            _own("source", "text", "what measured: cast, logger or probe"),
            *("shallowest_m", "deepest_m"),
            _own("count", "-", "number of temperatures measured that day"),
        ),
        "strike_depths": _table(
            "a strike placed on a rod, where its lure was",
            *("water", "boat", "trip", "date", "time", "rod", "species", "outcome"),
            *("depth_m", "depth_sd_m", "lure_temp_c"),
        ),
        "fished_depths": _table(
            "the rod-hours of a day in one metre of modelled depth",
            *("water", "date"),
            _own("depth_m", "m", "upper edge of the metre"),
            _own("rod_hours", "h", "rod-hours fished in that metre"),
        ),
        "trip_tracks": _table(
            "a stretch of time in which a rod fished at one depth, on the trip with most strikes",
            *("water", "boat", "trip", "date", "rod", "start", "end", "utc_offset_h", "depth_m"),
        ),
        "areas": _table(
            "an area, its trips against those to the area fished most, at equal conditions",
            *("area", "trips", "rod_hours", "strikes", *_RATIO),
            _own("reference", "text", "area that is compared with"),
            _own("reason", "text", "why it cannot be compared: thin, or tied to month or boat"),
        ),
        "hours": _table(
            "an hour of the day, over the season",
            "hour",
            _own("rod_hours", "h", "rod-hours fished in that hour of the day"),
            *("strikes", "raw_rate"),
            _own("low", "1/h", "5 % bound of the counted rate"),
            _own("high", "1/h", "95 % bound of the counted rate"),
        ),
        "bands": _table("a depth band in one period", *_JUDGED),
        "effects": _table(
            "one value of a term of the rate, all else equal",
            *("term", "at", *_RATIO),
            _own("reference", "unit of the term", "value that is compared with"),
            *("step", "step_ratio", "step_low", "step_high"),
        ),
        "spread": _table(
            "the line-out of one gear and setting that puts the lure in the best band of a period",
            *("period", "gear", "setting", "line_out", "unit", "depth_m", "depth_sd_m"),
            *("lateral_m", "setback_m", "line_out_low", "line_out_high"),
            *("depth_low_m", "depth_high_m", *_RATES, "loss", "loss_low", "loss_high"),
            *("boat", "line_out_m"),
            _own(
                "lure", "text", "the lure that dives for which it is; empty for one that does not"
            ),
        ),
        "set_aside": _table("a row of the log that does not count", *_ASIDE),
        "changed": _table("a field emptied or read otherwise than written, its row kept", *_ASIDE),
        "findings": _table(
            "one cause, and all rows of a log that it spoiled or makes doubtful",
            *("log", "severity", "doubted", "table", "column", "value"),
            *("count", "lines", "reason", "remedy", "follows"),
            _own("rod_hours", "h", "rod-hours lost because of it; of doubts, those resting on it"),
            _own("strikes", "-", "strikes that count in no rate because of it; of doubts, on it"),
        ),
        "checks": _table("one check of the models", "name", "passed", "finding", "next_step"),
        "choice": _table(
            "one of the models compared by trips left out of their fit",
            *("model", "formula", "score", "score_se", "behind", "behind_se", "weight", "chosen"),
        ),
        "sensitivity": _table(
            "a depth band by one way to account for days and hours",
            *("strata", *_BAND),
            _own("ratio", "-", "rate of the band over the geometric mean of the judged bands"),
            *("low", "high", "p_best", "status"),
        ),
        "gaps": _table(
            "something that the log does not tell",
            *("log", _own("what", "text", "what is missing, and of how much"), "cost"),
            _own("remedy", "text", "what to write down next time"),
        ),
        "rows": _table(
            "a table of a log, and how many of its rows count",
            *("log", "table", "read", "kept", "set_aside"),
        ),
        "species": _table(
            "one species",
            *("species", "spelt_as", "strikes", "landed", "released", "lost", "missed"),
            *("not_logged", "biggest_length_m", "biggest_weight_kg"),
        ),
        "species_bands": _table("a depth band in one period for one species", "species", *_JUDGED),
        "trips": _table(
            "a trip",
            *("boat", "trip", "date", "area", "rod_hours", "hours_from", "strikes", "landed"),
            *("speed_mps", "surface_temp_c", "log_number"),
        ),
        "weeks": _table(
            "a week of the season",
            *("week", "trips", "rod_hours", "strikes", "thermocline_m"),
            *("best_low_m", "best_high_m", "p_near", "verdict"),
        ),
        "profile": _table(
            "the mean temperature of a week at one depth", "week", "depth_m", "temp_c"
        ),
        "shares": _table(
            "a depth band's part of a period",
            *("period", *_BAND, "strike_share", "hour_share", "raw_rate", *_RATES),
        ),
        "influence": _table(
            "what one term does to the raw rate of one band",
            *("term", *_BAND, "against_low_m", "against_high_m"),
            *("ratio", "ratio_low", "ratio_high", "headline", "wording"),
        ),
        "cost": _table(
            "strikes of a period as fished, and as expected in the named bands",
            *("period", "rod_hours", "moved_hours", "strikes_fished", "strikes_best"),
            _own("low", "-", "5 % bound of strikes_best"),
            _own("high", "-", "95 % bound of strikes_best"),
            *("more", "more_low", "more_high"),
        ),
        "outcomes": _table(
            "share of the fish hooked that were landed or released, in one class of a term",
            *("term", "level", "hooked", "boated", "boated_rate", *_SHARE, "modelled"),
        ),
        "hookups": _table(
            "share of the strikes that were hooked, in one class of a term",
            *("term", "level", "strikes", "hooked", "hookup_rate", *_SHARE, "modelled"),
        ),
        "troubles": _table(
            "false releases and tangles of one gear and setting in one class of line-out",
            *("gear", "setting", "line_out_low_m", "line_out_high_m", "rod_hours"),
            *("false_releases", "tangles", "per_100_rod_hours", *_PER_HOURS),
        ),
        "tangled": _table(
            "two rods that tangled at once",
            *("boat", "rod_a", "rod_b", "tangles", "by_chance", "hours_together"),
            *("per_100_hours", *_PER_HOURS, "beyond_chance"),
        ),
        "gear_effects": _table(
            "a gear and setting against the one used most",
            *("gear", "setting", *_RATIO, "reference", "rod_hours", "strikes"),
            *("boat", "depth_m", "line_out_m", "told_apart", "wording"),
        ),
        "lure_effects": _table(
            "a lure against the one used most",
            *("lure", *_RATIO, "reference", "rod_hours", "strikes", "told_apart"),
        ),
        "plan": _table(
            "a rod of next season's starting spread",
            *("boat", "rod", "gear", "side", "setting", "line_out", "unit", "depth_m"),
            *("depth_sd_m", "lateral_m", "setback_m", "purpose", "why", "line_out_m"),
            *("tip_y_m", "depth_unit", "period"),
        ),
        "clearance": _table(
            "two lines of the starting spread that lie side by side",
            *("rod_a", "rod_b", "least_m", "sideways_m", "flagged", "why", "boat"),
        ),
        "before": _table(
            "this season against the one before",
            _own("what", "text", "what the two seasons are compared in"),
            *(*_BAND, "rate_before", "rate_now", *_RATIO, "wording"),
        ),
    }
)
"""Every result file by name."""


def check_known(name: str, columns: Iterable[Hashable]) -> None:
    """Refuse a table or a column that no schema knows.

    Parameters
    ----------
    name : str
        Of the result file.
    columns : iterable of str
        Those of the frame to be written.

    Raises
    ------
    SchemaError
    """
    if name not in RESULTS:
        msg = f"result table {name!r} is not in analysis/result_schema.py: describe it there."
        raise SchemaError(msg)
    if strange := [column for column in columns if column not in RESULTS[name].names]:
        msg = (
            f"result table {name!r}: analysis/result_schema.py does not know its column "
            f"{', '.join(map(str, strange))}: give each a unit and a meaning there."
        )
        raise SchemaError(msg)


def described(tables: Mapping[str, Iterable[Hashable]]) -> dict[str, dict[str, object]]:
    """Describe the columns of some result files, for ``columns.json``.

    Parameters
    ----------
    tables : mapping of str to DataFrame, or to names of columns
        By the name of the file, each known to its schema.

    Returns
    -------
    dict
        By table: its ``meaning``, and ``columns`` with ``unit`` and ``meaning`` of each.
    """
    return {
        name: {
            "meaning": RESULTS[name].meaning,
            "columns": {
                column.name: {"unit": column.unit, "meaning": column.meaning}
                for column in RESULTS[name].columns
                if column.name in set(held)
            },
        }
        for name, held in tables.items()
    }


def glossary() -> str:
    """Return every column of the log's frames and of the result files as a Markdown table.

    Returns
    -------
    str
        ``name | unit | meaning | in``, one row a meaning; result files end in ``.csv``, or in
        ``.parquet``.
    """
    found: dict[Column, list[str]] = {column: [] for column in COLUMNS.values()}
    for frame, names in FRAMES.items():
        for name in names:
            found[COLUMNS[name]].append(frame)
    for file, table in RESULTS.items():
        for column in table.columns:
            suffix = "parquet" if file == "exposure" else "csv"
            found.setdefault(column, []).append(f"{file}.{suffix}")
    lines = ["| name | unit | meaning | in |", "|---|---|---|---|"]
    lines += [
        f"| `{column.name}` | {column.unit} | {column.meaning} | {', '.join(frames)} |"
        for column, frames in sorted(
            found.items(), key=lambda item: list(COLUMNS).index(item[0].name)
        )
    ]
    return "\n".join(lines) + "\n"
