"""The log's keeping: a new season folder, the sheet to write on aboard, the evening's typing."""
