"""Turn the files of a season folder into rows of text."""
