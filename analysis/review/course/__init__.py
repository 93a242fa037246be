"""How a season went in its water, day by day and hour by hour: one table a file."""
