"""Seasons played out event by event, to see whether a plan meets the future it was told of.

Only values of the rooms before are read here (tables, positions, nodes of each part's posterior,
offers, the plan), none of their sums: what it shares with the forecast it could not check.
"""
