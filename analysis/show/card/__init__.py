"""The card of a day: its words, on paper, as a page and as plain text."""
