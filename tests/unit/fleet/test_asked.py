"""Settings, from file and command line."""

from datetime import date

import pytest

from stockopt.errors import Note
from stockopt.fleet.asked import Asked, make_settings
from stockopt.settings import Settings


def ask(**settings):
    return make_settings(
        Asked(label="command line", setting=setting, value=value)
        for setting, value in {"planned_on": "2031-04-01", **settings}.items()
    )


def test_nothing_asked_keeps_what_holds():
    assert ask() == (Settings(planned_on=date(2031, 4, 1)), [])


def test_values_as_texts_or_numbers():
    settings, findings = ask(
        currency="chf",
        budget="4000",
        readiness="95%",
        carry_over=0.25,
        share_stops=1,
        share_limits="30 %",
        share_nuisance=0,
        days_to_fix="0.25",
        capital_rate=0.1,
        gap=1e-4,
        seconds=5,
    )
    assert findings == []
    assert settings == Settings(
        planned_on=date(2031, 4, 1),
        currency="CHF",
        budget=4000.0,
        readiness=0.95,
        carry_over=0.25,
        share_stops=1.0,
        share_limits=0.3,
        share_nuisance=0.0,
        days_to_fix=0.25,
        capital_rate=0.1,
        gap=1e-4,
        seconds=5.0,
    )


def test_the_later_one_holds_and_none_is_not_given():
    settings, findings = make_settings(
        [
            Asked(label="settings.toml", setting="planned_on", value=date(2031, 4, 1)),
            Asked(label="settings.toml", setting="budget", value=100),
            Asked(label="settings.toml", setting="seconds", value=9),
            Asked(label="command line", setting="budget", value=200.0),
            Asked(label="command line", setting="seconds", value=None),
        ]
    )
    assert (settings.budget, settings.seconds, findings) == (200.0, 9.0, [])


def test_without_a_day_it_is_planned_on_today():
    before = date.today()
    settings, findings = make_settings([Asked(label="settings", setting="planned_on", value="")])
    assert before <= settings.planned_on <= date.today()
    assert findings == [
        Note(
            table="settings",
            column="planned_on",
            text=f"not given: planned on today, {settings.planned_on}",
        )
    ]


@pytest.mark.parametrize(
    ("setting", "value", "message"),
    [
        ("budget", -1, "'-1' must be at least 0"),
        ("budget", True, "'True' is not a number: write digits alone, or leave the cell blank"),
        ("readiness", 0, "'0' must be greater than 0"),
        ("readiness", "100%", "'100%' must be less than 1"),
        ("readiness", 95, "'95' is not a share: write 0.95 or 95%"),
        ("carry_over", "1", "'1' must be less than 1"),
        ("carry_over", "-5%", "'-5%' must be at least 0"),
        ("gap", 1, "'1' must be less than 1"),
        ("seconds", 0, "'0' must be greater than 0"),
        ("currency", "Euro", "'Euro' is not an ISO 4217 code: write three letters such as EUR"),
        ("planned_on", "1.4.31", "'1.4.31' may be two days: write 2031-04-01 or 2031-01-04"),
        ("rates.USD", 0, "'0' must be greater than 0"),
        ("rates.EUR", 2, "'2' is for the plan's own currency, whose worth is 1"),
        ("redines", 1, "is not a setting: is 'readiness' meant?"),
        (
            "colour",
            "red",
            "is not a setting: there are planned_on, currency, mass_unit, volume_unit, paper, "
            "budget, readiness, carry_over, share_stops, share_limits, share_nuisance, "
            "days_to_fix, capital_rate, gap, seconds and rates",
        ),
    ],
)
def test_what_is_wrong_is_named(setting, value, message):
    _, findings = ask(**{setting: value})
    assert [str(problem) for problem in findings if not isinstance(problem, Note)] == [
        f"command line, column {setting}: {message}"
    ]
