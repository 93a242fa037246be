"""Propose a boat.toml for an unknown log; nothing here reads a log for an answer."""
