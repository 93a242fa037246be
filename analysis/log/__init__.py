"""Read a season folder and vet it: clean tables in SI, and what was set aside."""
