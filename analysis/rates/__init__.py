"""Catch-rate models: slices joined with depth and temperature, fitted, checked."""
