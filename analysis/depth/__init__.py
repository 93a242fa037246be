"""How deep a towed line runs: arrays in, arrays out."""

from analysis.depth.calibrate import Calibration, calibrate, uses_of
from analysis.depth.clearance import RodLine, clearances, line_path
from analysis.depth.columns import Columns
from analysis.depth.invert import equal_depth_table, line_out_for
from analysis.depth.model import Solution, solve
from analysis.depth.slopes import SetErrors
from analysis.depth.uncertainty import GearBelief, Prediction, believe

__all__ = [
    "Calibration",
    "Columns",
    "GearBelief",
    "Prediction",
    "RodLine",
    "SetErrors",
    "Solution",
    "believe",
    "calibrate",
    "clearances",
    "equal_depth_table",
    "line_out_for",
    "line_path",
    "solve",
    "uses_of",
]
