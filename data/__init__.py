"""The demo season and the generator behind it: invented water, boats and fish, known truth."""
