"""rodhours: which depth produced, how sure we are, what to set next."""
