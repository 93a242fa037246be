"""What a season's analysis is doing, for those who wait."""

READING = "Reading"
JOINING = "Joining depths"
FITTING = "Fitting"
REVIEWING = "Species, gear and next season"
WRITING = "Writing down"
COMPARING = "By the other models"
DONE = "Done"
