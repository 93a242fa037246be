"""Pictures, tables and sentences of modelled depth."""
