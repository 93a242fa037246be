from .calibrate import Calibration, uses_of
from .clearance import RodLine, clearances, line_path, line_paths
from .columns import Columns
from .invert import equal_depth_table, line_out_for, line_out_to
from .model import Solution, solve
from .slopes import SetErrors
from .uncertainty import GearBelief, Prediction, believe

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
    "line_paths",
    "solve",
    "uses_of",
]
