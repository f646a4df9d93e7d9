"""Parts that are supposed to fail more or less often than their records say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from stockopt.ageing.ageing import Ageing


def fail_faster(ageing: Ageing, rates: Mapping[str, float]) -> Ageing:
    """Return the ageing with the hazard of some parts multiplied, at every age.

    Parameters
    ----------
    ageing
        From the records.
    rates
        By part: the factor.

    Returns
    -------
    Ageing
        With other `nodes` for these parts, so that everything forecast from here on follows. What
        the records say of a part (failures, mean life, tests, best age) stays as it is.

    Notes
    -----
    z (t/e)^b = (t/e')^b with e' = e z^(-1/b): the shape stays, the scale shrinks. Pieces that
    wear (b > 1) so lose less life than the factor says: at b = 2, four times the hazard halves it.
    """
    if not rates:
        return ageing
    parts = {
        name: replace(part, nodes=part.nodes.on_boat(rates.get(name, 1.0)))
        for name, part in ageing.parts.items()
    }
    return replace(ageing, parts=parts)
