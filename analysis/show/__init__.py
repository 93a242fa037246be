"""Pictures, tables and sentences from frames."""
