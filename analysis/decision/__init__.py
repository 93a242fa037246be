"""From the fitted rates to an answer: bands, verdicts, next season's spread."""
