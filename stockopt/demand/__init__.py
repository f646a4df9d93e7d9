"""Pieces needed by each boat, part and stretch of the plan."""
