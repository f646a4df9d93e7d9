"""The files of a look back."""

from __future__ import annotations

from functools import partial

from stockopt.lookback.lookback import Lookback
from stockopt.report.lookback_keys import lookback_keys
from stockopt.report.lookback_sheets import lookback_sheets
from stockopt.report.lookback_words import title_words
from stockopt.report.study_files import Study


def lookback_study(look: Lookback) -> Study:
    """Return what can be written of a look back."""
    return Study(
        make_sheets=partial(lookback_sheets, look),
        make_keys=partial(lookback_keys, look),
        currency=look.currency,
        footer=title_words(look),
        paper=look.paper,
    )
