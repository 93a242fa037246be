"""The card of a day to come: what it rests on, what a person gave, its files."""
