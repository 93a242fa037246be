"""What a season review holds beside rates and effects: one table of the season in each file."""
