"""The tables of a fleet: read, checked, and handed on as one value."""
