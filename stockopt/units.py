"""The few words that stand for units and kinds, and their allowed values."""

from __future__ import annotations

from typing import Literal

Clock = Literal["hours", "days"]
Consequence = Literal["stops", "limits", "nuisance"]

#: From the gravest to the lightest.
CONSEQUENCES: tuple[Consequence, ...] = ("stops", "limits", "nuisance")

#: Reasons that end a life as a failure; every other reason, and still running, suspends it.
FAILURE_REASONS: frozenset[str] = frozenset({"failed", "worn", "unknown"})

HOURS_PER_DAY = 24.0
