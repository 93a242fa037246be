"""How deep a towed line runs: arrays in, arrays out."""

from typing import TYPE_CHECKING, Any

from analysis.lazily import fetch

if TYPE_CHECKING:
    from analysis.depth.calibrate import Calibration, uses_of
    from analysis.depth.clearance import RodLine, clearances, line_path
    from analysis.depth.columns import Columns
    from analysis.depth.invert import equal_depth_table, line_out_for, line_out_to
    from analysis.depth.model import Solution, solve
    from analysis.depth.slopes import SetErrors
    from analysis.depth.uncertainty import GearBelief, Prediction, believe

_PLACES = {
    **dict.fromkeys(("Calibration", "uses_of"), "calibrate"),
    **dict.fromkeys(("RodLine", "clearances", "line_path"), "clearance"),
    "Columns": "columns",
    **dict.fromkeys(("equal_depth_table", "line_out_for", "line_out_to"), "invert"),
    **dict.fromkeys(("Solution", "solve"), "model"),
    "SetErrors": "slopes",
    **dict.fromkeys(("GearBelief", "Prediction", "believe"), "uncertainty"),
}
"""Name -> the module it stands in."""

__all__ = [
    "Calibration",
    "Columns",
    "GearBelief",
    "Prediction",
    "RodLine",
    "SetErrors",
    "Solution",
    "believe",
    "clearances",
    "equal_depth_table",
    "line_out_for",
    "line_out_to",
    "line_path",
    "solve",
    "uses_of",
]


def __getattr__(name: str) -> Any:
    """Import what is asked for: limits and units of what is towed need no model of it."""
    return fetch(__name__, _PLACES, name)
