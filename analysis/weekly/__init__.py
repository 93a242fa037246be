"""The club's week, and what may be told of it."""
