"""Keeping the books: what was used, delivered and counted goes into the tables."""
