"""Each part's tests put together, in numbers and in plain words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stockopt.ageing.ageing import PartTests
from stockopt.ageing.between_boats import compare_boats
from stockopt.ageing.likelihood import Records
from stockopt.ageing.newest import find_newest
from stockopt.ageing.prior import Priors
from stockopt.ageing.trend import find_trends
from stockopt.ageing.watched import Watched, expect_failures
from stockopt.ageing.wear import compare_wear
from stockopt.errors import Note

Floats = NDArray[np.float64]

#: Chances below which a test is said to show something, and to show it clearly. One part in twenty
#: shows something by chance alone.
SOME, CLEAR = 0.05, 0.01
#: Likelihood ratio from which evidence is worth a mention, and from which it is strong.
SUPPORTED, STRONG = 3.0, 20.0

_TOO_FEW = "too few failures to tell"


def run_tests(
    watched: Watched, records: Records, priors: Priors, shape: Floats, factor: Floats
) -> list[PartTests]:
    """Return the tests of every part.

    Parameters
    ----------
    watched, records
        The lives of the parts, and what their likelihood needs of them.
    priors
        Of the parts.
    shape
        Weibull shape of each part, (parts,).
    factor
        By how much each boat's parts fail faster, (boats,). Not allowed for in the test between
        boats, which asks for just that.
    """
    expected = expect_failures(watched, shape, factor)
    alike = expect_failures(watched, shape, np.ones_like(factor))
    trend_z, trend_p = find_trends(watched, shape, expected)
    boats_statistic, boats_p = compare_boats(watched, alike)
    wear_ratio, log_shape = compare_wear(records, priors)
    newest = find_newest(watched, expected)
    rows = zip(
        _known(trend_z),
        _known(trend_p),
        _known(boats_statistic),
        _known(boats_p),
        _known(wear_ratio),
        log_shape.tolist(),
        newest.pieces.tolist(),
        newest.failures.tolist(),
        newest.expected.tolist(),
        _known(newest.p_value),
        strict=True,
    )
    return [
        PartTests(
            trend_z=z,
            trend_p=p if z is not None else None,
            trend=_say_trend(z, p),
            boats_statistic=statistic,
            boats_p=between,
            boats=_say_boats(between),
            wear_ratio=ratio,
            wear=_say_wear(ratio, steepness),
            newest_failures=None if chance is None else failed,
            newest_expected=None if chance is None else hoped,
            newest_p=chance,
            newest=_say_newest(pieces, failed, hoped, chance),
        )
        for z, p, statistic, between, ratio, steepness, pieces, failed, hoped, chance in rows
    ]


def note_newest(parts: Sequence[str], tests: Sequence[PartTests]) -> list[Note]:
    """Return a data note for each part whose newest pieces clearly fail too soon."""
    return [
        Note(table="replacements", column="part", text=f"{part}: {test.newest}")
        for part, test in zip(parts, tests, strict=True)
        if test.newest_p is not None and test.newest_p < CLEAR
    ]


def _known(values: Floats) -> list[float | None]:
    return [None if value != value else value for value in values.tolist()]


def _say_trend(z: float | None, p: float | None) -> str:
    if z is None or p is None:
        return _TOO_FEW
    if p >= SOME:
        return "failures come no faster and no slower over the years than the pieces' ages explain"
    how = "clearly" if p < CLEAR else "it seems"
    which = "faster" if z > 0.0 else "slower"
    return f"failures come {which} of late than the pieces' ages explain, {how}"


def _say_boats(p: float | None) -> str:
    if p is None:
        return _TOO_FEW
    if p >= SOME:
        return "no difference between boats shows"
    return f"fails faster on some boats than on others, {'clearly' if p < CLEAR else 'it seems'}"


def _say_wear(ratio: float | None, log_shape: float) -> str:
    if ratio is None:
        return _TOO_FEW
    if ratio >= SUPPORTED:
        what = "wears out with age" if log_shape > 0.0 else "fails when young more than when old"
        return f"{what}, {'clearly' if ratio >= STRONG else 'it seems'}"
    if ratio <= 1.0 / SUPPORTED:
        how = "clearly" if ratio <= 1.0 / STRONG else "it seems"
        return f"fails at random, {how}: a new piece is no better than an old one"
    return "the records do not say whether it wears out or fails at random"


def _say_newest(pieces: int, failed: int, hoped: float, chance: float | None) -> str:
    if chance is None:
        return _TOO_FEW
    if chance >= SOME:
        return "the pieces fitted last do not fail sooner than those before"
    how = (
        "wrong part, bad batch, or a cause elsewhere?"
        if chance < CLEAR
        else "it may be chance; watch it"
    )
    return (
        f"of the {pieces} pieces fitted last {failed} failed where {hoped:.1f} were to be expected "
        f"of them at their ages: {how}"
    )
