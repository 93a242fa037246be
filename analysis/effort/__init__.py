"""Count rod-hours: rod x time slices, strikes placed in them, temperatures there, what gaps cost."""
