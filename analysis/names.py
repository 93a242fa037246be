"""Owns the names of columns: one name, one unit, one meaning, in every frame and result file."""

from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a frame or result file.

    Parameters
    ----------
    name : str
        Its name; a number's unit is the end of it.
    unit : str
        Its unit, ``text``, ``UTC``, ``local date``, ``true/false`` or ``-`` (a number without).
    meaning : str
        What it says, in one line.
    """

    name: str
    unit: str
    meaning: str


_ROWS = (
    # what every table of the log shares
    ("trip", "text", "id of the trip, unique in a season"),
    ("rod", "text", "rod label, unique within a boat"),
    (
        "line",
        "-",
        "line of the file on which the row begins; of what a logger measured, its line in loggers; "
        "0 for a reading from a track",
    ),
    ("time", "UTC", "when a strike, reading or cast was"),
    ("note", "text", "free text of the boat"),
    # trips
    ("date", "local date", "date the trip (or a soak) began"),
    ("file", "text", "file of a logger, in the folder loggers"),
    ("offset_m", "m", "how much deeper the lure ran than the logger on its line"),
    ("start", "UTC", "of a trip: lines first in; of a slice: its beginning"),
    ("end", "UTC", "of a trip: lines last out; of a slice: its end, which belongs to it"),
    ("area", "text", "name of the water fished, never coordinates"),
    ("rods", "-", "number of rods usually down, for trips without set records"),
    ("spread", "text", "name of the spread put in at the trip's start"),
    # sets
    ("side", "text", "port, starboard or centre"),
    ("gear", "text", "name of a gear in boat.toml"),
    ("setting", "-", "dial setting of a diver; empty for other gear"),
    ("line_out_m", "m", "true line from the rod tip, or cable from the pulley (counter scale in)"),
    ("lead_m", "m", "of a rigger: line from the ball to the lure"),
    ("leader_length_m", "m", "leader from diver or swivel to lure"),
    ("lure", "text", "free text"),
    ("time_in", "UTC", "when a set began fishing"),
    ("time_out", "UTC", "when a set ended fishing"),
    ("ended_by", "text", "strike, moved, false release, tangle, end, or empty"),
    (
        "source",
        "text",
        "what a set rests on: sets, changes, or spread (a trip's spread alone)",
    ),
    # strikes
    ("species", "text", "free text, empty for a fish not seen"),
    ("outcome", "text", "landed, released, lost (hooked, then off), missed (no hook-up), or empty"),
    ("length_m", "m", "length of the fish"),
    ("weight_kg", "kg", "weight of the fish"),
    ("slice", "-", "row of the slice a strike fell in, -1 where it could not be placed"),
    ("placed", "true/false", "whether a strike fell in a slice"),
    # readings, casts, soaks
    ("speed_mps", "m/s", "speed of the boat, through the water or over ground"),
    ("speed_kind", "text", "water or ground; empty where the log does not say (take as ground)"),
    ("surface_temp_c", "C", "water temperature at the surface"),
    ("depth_temp_c", "C", "water temperature at a probe"),
    ("probe_depth_m", "m", "depth of that probe"),
    ("heading_deg", "degrees", "heading of the boat, true or magnetic"),
    (
        "turn_rad_s",
        "rad/s",
        "how fast the boat turned, positive to starboard, 0 straight ahead; empty where no heading "
        "or course tells it",
    ),
    ("depth_m", "m", "depth below the surface: of a lure (modelled), cast, soak or term"),
    ("temp_c", "C", "water temperature at a depth: of a cast, or modelled"),
    # slices and exposure
    ("boat", "text", "name of the boat"),
    ("season", "-", "year of the season's first trip"),
    ("set", "-", "number of the set a slice is part of, its line where it is written in sets"),
    ("hours", "h", "rod-hours of a slice or set"),
    ("strikes", "-", "number of strikes placed"),
    ("landed", "-", "number of them with the outcome landed (released fish not counted)"),
    ("depth_sd_m", "m", "standard deviation of the modelled depth"),
    ("lure_temp_c", "C", "water temperature at the lure's modelled depth"),
    ("lure_temp_sd_c", "C", "standard deviation of that temperature"),
    ("water", "text", "name of the water, or of the boat where it names none"),
    ("day", "local date", "day of the water's temperature"),
    ("temp_sd_c", "C", "standard deviation of a modelled water temperature"),
    ("shallowest_m", "m", "depth of the shallowest temperature that a thermometer told in a day"),
    ("deepest_m", "m", "depth of the deepest temperature that a thermometer told in a day"),
    ("utc_offset_h", "h", "by how much the boat's clock was ahead of UTC"),
    ("water_share", "-", "share of a variance that comes of not knowing the water"),
    ("water_known_m", "m", "standard deviation of the best depth, were the water known"),
    ("apart", "true/false", "whether the log tells the doubt about fish from that about water"),
    ("now_m", "m", "standard deviation of the thermocline's depth by what was measured"),
    ("fortnight_m", "m", "what a cast a fortnight would leave of that doubt"),
    ("probe_m", "m", "what a probe at the ball on each trip would leave of it"),
    ("logger_m", "m", "what a logger on one line on each trip would leave of it"),
    ("each_trip_m", "m", "what a cast on each trip would leave of it"),
    ("told", "true/false", "whether the log tells where a week's best water lay"),
    ("hour", "-", "hour of the boat's clock, 0 to 23, from its beginning to the next"),
    ("lateral_m", "m", "distance to the side of the rod tip"),
    ("setback_m", "m", "distance astern of the rod tip"),
    ("line_pull_n", "N", "pull of the line at the rod tip"),
    ("tip_height_m", "m", "height of the rod tip above the water"),
    # decisions
    ("period", "text", "season, or a month as YYYY-MM"),
    ("band_low_m", "m", "upper edge of a depth band"),
    ("band_high_m", "m", "lower edge of a depth band"),
    ("rod_hours", "h", "rod-hours fished in a band"),
    ("raw_rate", "1/h", "strikes per rod-hour as counted"),
    ("rate", "1/h", "strikes per rod-hour as modelled, all else equal"),
    ("rate_low", "1/h", "5 % bound of the rate"),
    ("rate_high", "1/h", "95 % bound of the rate"),
    ("p_best", "-", "probability that a band is the best of those judged in its period"),
    ("named", "true/false", "whether the period's answer names this band"),
    ("p_named", "-", "probability that the best band is among the named"),
    ("verdict", "text", "clear, leaning or open; the same on every row of a period"),
    ("term", "text", "what an effect is of: the name of a column"),
    ("at", "unit of the term", "value of the term"),
    ("ratio", "-", "catch rate there over the catch rate at the term's reference value"),
    ("low", "-", "5 % bound of the ratio"),
    ("high", "-", "95 % bound of the ratio"),
    ("line_out", "unit column", "line-out in the boat's own unit"),
    ("unit", "text", "the boat's unit of line-out"),
    ("line_out_low", "unit column", "least line-out that does nearly as well"),
    ("line_out_high", "unit column", "most line-out that does nearly as well"),
    ("depth_low_m", "m", "5 % bound of where a lure runs, given soaks and strikes"),
    ("depth_high_m", "m", "95 % bound of where a lure runs, given soaks and strikes"),
    ("loss", "-", "share of the rate given up against knowing curve and depth, median"),
    ("loss_low", "-", "5 % bound of that share"),
    ("loss_high", "-", "95 % bound of that share"),
    # what the season's story, cost, gear and plan are told in
    ("week", "text", "ISO week, such as 2026-W27, of the local date a trip began"),
    ("log", "text", "name of the season folder"),
    ("log_number", "-", "number of the season folder, from 0, among those analysed together"),
    ("hours_from", "text", "whether a trip's rod-hours come from its sets or from the rods usual"),
    ("trips", "-", "number of trips"),
    ("thermocline_m", "m", "depth at which the water's temperature falls fastest"),
    ("best_low_m", "m", "upper edge of a week's best band or bands"),
    ("best_high_m", "m", "lower edge of a week's best band or bands"),
    ("judged", "true/false", "whether a band was fished enough to be judged"),
    ("p_near", "-", "probability that a named band is within a tenth of the best"),
    ("named_rate", "1/h", "rate of a rod whose hours are parted equally among the named bands"),
    ("named_rate_low", "1/h", "5 % bound of that rate"),
    ("named_rate_high", "1/h", "95 % bound of that rate"),
    ("spelt_as", "text", "every spelling taken for a species, with its count"),
    ("released", "-", "number of strikes with the outcome released"),
    ("lost", "-", "number of strikes with the outcome lost"),
    ("missed", "-", "number of strikes with the outcome missed"),
    ("not_logged", "-", "number of strikes without an outcome"),
    ("biggest_length_m", "m", "length of the longest fish of a species"),
    ("biggest_weight_kg", "kg", "weight of the heaviest fish of a species"),
    ("strike_share", "-", "share of a period's strikes"),
    ("hour_share", "-", "share of a period's rod-hours"),
    ("against_low_m", "m", "upper edge of the band compared with"),
    ("against_high_m", "m", "lower edge of the band compared with"),
    ("ratio_low", "-", "5 % bound of a ratio"),
    ("ratio_high", "-", "95 % bound of a ratio"),
    ("headline", "true/false", "whether an influence is of the band that the raw rate favours"),
    ("wording", "text", "the row in a sentence"),
    ("moved_hours", "h", "rod-hours whose rod could have fished the named bands"),
    ("strikes_fished", "-", "strikes counted"),
    ("strikes_best", "-", "strikes expected of the same rod-hours in the named bands"),
    ("more", "-", "how many more these are"),
    ("more_low", "-", "5 % bound of more"),
    ("more_high", "-", "95 % bound of more"),
    ("level", "text", "class of a term of the landing models"),
    ("hooked", "-", "number of strikes landed, released or lost"),
    ("boated", "-", "number of strikes landed or released"),
    ("boated_rate", "-", "share landed or released of the fish hooked"),
    ("hookup_rate", "-", "share hooked of the strikes"),
    ("modelled", "true/false", "whether a share is at equal conditions; else as counted"),
    ("line_out_low_m", "m", "least line-out of a class"),
    ("line_out_high_m", "m", "line-out at which a class ends"),
    ("false_releases", "-", "number of sets ended by a false release"),
    ("tangles", "-", "number of sets ended by a tangle; of a pair, of both at once"),
    ("per_100_rod_hours", "1/(100 h)", "false releases and tangles in 100 rod-hours"),
    ("rod_a", "text", "one rod of a pair, the one to port in a spread"),
    ("rod_b", "text", "the other rod of a pair"),
    ("by_chance", "-", "tangles at once to expect of rods that have nothing to do with each other"),
    ("hours_together", "h", "hours in which both rods were down"),
    ("per_100_hours", "1/(100 h)", "tangles of a pair in 100 hours of both rods down"),
    ("beyond_chance", "true/false", "whether a pair tangled more often than chance has it"),
    ("reference", "text", "gear and setting, or lure, that is compared with"),
    ("told_apart", "true/false", "whether a gear or lure differs from its reference beyond chance"),
    ("purpose", "text", "of a planned rod: best band, explore, or nearest (reached)"),
    ("why", "text", "the reason for a planned rod, or for a warning"),
    ("tip_y_m", "m", "how far the rod tip is from the middle of the boat, negative to port"),
    ("depth_unit", "text", "the boat's unit of depth"),
    ("least_m", "m", "least distance between two lines below the surface"),
    ("sideways_m", "m", "distance sideways between the ends of two lines"),
    ("flagged", "true/false", "whether two lines are near enough to tangle"),
    ("what", "text", "of a change to the lines: in, out or empty"),
    ("rate_before", "1/h", "strikes per rod-hour in the season before"),
    ("rate_now", "1/h", "strikes per rod-hour in this season"),
    ("step", "unit of the term", "one more step of the term"),
    ("step_ratio", "-", "catch rate one step further over the catch rate there"),
    ("step_low", "-", "5 % bound of that ratio"),
    ("step_high", "-", "95 % bound of that ratio"),
    # the model, its checks and its rivals
    ("model", "text", "name of a model"),
    ("formula", "text", "what its log rate is the sum of"),
    (
        "score",
        "-",
        "gain in log probability of which rod took the strike over a constant rate, per "
        "100 strikes of trips left out of the fit",
    ),
    ("score_se", "-", "standard error of the score"),
    ("behind", "-", "by how much the fullest model's score exceeds its own"),
    ("behind_se", "-", "standard error of that difference"),
    ("weight", "-", "its share in the average of models"),
    ("chosen", "true/false", "whether its weight is the greatest"),
    ("name", "text", "what is checked"),
    ("passed", "true/false", "whether nothing was found against it"),
    ("finding", "text", "what was found"),
    ("next_step", "text", "what a reader should do about it; empty where nothing"),
    ("strata", "text", "what a way to account for days and hours compares rods within"),
    ("status", "text", "whether its fit may be used, and why not"),
    # what the log holds and lacks
    ("severity", "text", "stops, changes (the answer) or cosmetic"),
    ("doubted", "true/false", "whether the rows are kept and only doubted"),
    ("count", "-", "number of rows that a finding's cause itself spoiled"),
    ("lines", "text", "lines of the table's file, parted by spaces"),
    ("follows", "-", "number of rows that were lost only because of these"),
    ("read", "-", "number of rows of a table of the log as read"),
    ("kept", "-", "number of them that count"),
    ("set_aside", "-", "number of them set aside"),
    ("cost", "text", "what a gap costs the answer"),
    # depth and temperature of a slice
    ("depth_note", "text", "why no depth could be worked out; empty where one was"),
    ("lure_temp_note", "text", "why no temperature is known at the lure; empty where one is"),
    ("gear_setting", "text", "gear and dial setting, the term that stands for both"),
    # what was set aside
    ("table", "text", "table of the log"),
    ("row", "-", "line of its file"),
    ("column", "text", "column at fault, empty for a whole row"),
    ("value", "text", "what is written there"),
    ("reason", "text", "why it does not count; empty where it does"),
    ("remedy", "text", "what to do about it"),
)

COLUMNS = MappingProxyType(
    {name: Column(name=name, unit=unit, meaning=meaning) for name, unit, meaning in _ROWS}
)
"""Every column by name."""

_SET = ("side", "gear", "setting", "line_out_m", "lead_m", "leader_length_m", "lure")
_READ = ("speed_mps", "speed_kind", "surface_temp_c")

FRAMES = MappingProxyType(
    {
        "trips": ("trip", "date", "start", "end", "area", "rods", "spread", "note", "line"),
        "sets": ("trip", "rod", *_SET, "time_in", "time_out", "ended_by", "line"),
        "spreads": ("spread", "rod", *_SET, "line"),
        "changes": ("trip", "time", "rod", "what", *_SET, "ended_by", "note", "line"),
        "stretches": (
            *("trip", "rod", *_SET, "time_in", "time_out", "ended_by"),
            *("line", "table", "set", "source"),
        ),
        "strikes": (
            *("trip", "time", "rod", "species", "outcome", "length_m", "weight_kg"),
            *("gear", "setting", "line_out_m", "leader_length_m", "lure", "note", "line"),
        ),
        "readings": (
            *("trip", "time", *_READ, "depth_temp_c", "probe_depth_m", "heading_deg", "line"),
        ),
        "turns": ("trip", "time", "turn_rad_s"),
        "casts": ("trip", "time", "depth_m", "temp_c", "line"),
        "soaks": (
            *("gear", "setting", "line_out_m", "speed_mps", "depth_m"),
            *("date", "lead_m", "leader_length_m", "lure", "note", "line"),
        ),
        "loggers": ("file", "trip", "rod", "time_in", "time_out", "offset_m", "line"),
        "logged": ("trip", "rod", "time", "depth_m", "temp_c", "line"),
        "slices": (
            *("boat", "season", "trip", "rod", *_SET),
            *("set", "source", "start", "end", "hours", *_READ, "turn_rad_s", "strikes", "landed"),
        ),
    }
)
"""The columns of each clean table of a log, and of the slices made of them."""
