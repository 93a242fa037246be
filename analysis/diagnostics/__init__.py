"""What is looked at after a fit: checks, single trips, residuals, the field's other models."""
