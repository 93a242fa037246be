"""What to set: rods, their line-outs, the layout of a spread."""
