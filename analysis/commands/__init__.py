"""Owns the commands, one a file: its arguments, what it calls and what it prints."""
