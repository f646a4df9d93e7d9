"""Numbers as JSON has them: rounded, and null where they are not finite."""

from __future__ import annotations

import math
from typing import Any

#: Digits of money after the point, so that sums still agree to a millionth.
MONEY_DIGITS = 6
#: Digits that matter of everything else that is not a count.
DIGITS = 9

Keys = dict[str, Any]


def money(value: float | None) -> float | None:
    """Return money rounded to a millionth; None where it is not known or not finite.

    Examples
    --------
    >>> money(1.23456789), money(float("inf"))
    (1.234568, None)
    """
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), MONEY_DIGITS) + 0.0


def number(value: float | None) -> float | None:
    """Return a number rounded to nine digits that matter; None where it is not finite.

    Examples
    --------
    >>> number(1234.567890123), number(float("nan")), number(None)
    (1234.56789, None, None)
    """
    if value is None or not math.isfinite(value):
        return None
    return float(f"{float(value):.{DIGITS}g}") + 0.0
