"""Turn text of any habit into the text that a log of ours has, and list what was done."""
