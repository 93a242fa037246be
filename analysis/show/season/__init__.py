"""Pictures, tables and sentences of the season review."""
