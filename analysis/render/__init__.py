"""Notebooks to pages and files put in place; knows nothing of fishing."""
