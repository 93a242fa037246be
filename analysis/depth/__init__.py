"""How deep a towed line runs: arrays in, arrays out."""

from analysis.depth.model import Solution, solve

__all__ = ["Solution", "solve"]
