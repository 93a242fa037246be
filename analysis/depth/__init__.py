"""How deep a towed line runs: arrays in, arrays out."""

from analysis.depth.belief import GearBelief, Prediction, SetErrors, believe
from analysis.depth.model import Solution, solve

__all__ = ["GearBelief", "Prediction", "SetErrors", "Solution", "believe", "solve"]
