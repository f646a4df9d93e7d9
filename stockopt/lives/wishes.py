"""What is missing from the tables for a better answer, most valuable first."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives

#: Machines not read for so many days: their hours are carried on from an old pace.
OLD_READING_DAYS = 120
#: With so many failures a part's own records say how long it lasts.
TELLING_FAILURES = 3
#: Stock counted before so many days ago may have been drawn on since.
OLD_COUNT_DAYS = 180
#: So many names are given as examples.
_NAMES = 3

# How far a wrong guess moves a plan, our own judgement: what costs or cannot be bought at all,
# before how long parts last, before how far the boats have run and what there is, before dates.
_MONEY, _LIFE, _STATE, _DATES = 5.0, 3.0, 2.0, 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One thing that would make the answer better.

    Parameters
    ----------
    text
        What is missing, with names, and where to put it.
    weight
        What wishes are sorted by, greatest first: the share of the fleet's fitted pieces that it
        concerns, each counted by its consequence, times how far a guess in its stead moves a plan.
    """

    text: str
    weight: float


def list_wishes(fleet: Fleet, lives: Lives) -> tuple[Wish, ...]:
    """List what is missing from the tables for a better answer, most valuable first.

    Parameters
    ----------
    fleet, lives
        Checked tables, and what was made of the records.

    Returns
    -------
    tuple of Wish
        Empty where nothing is missing, or nothing is fitted yet.
    """
    positions = lives.positions.assign(
        counts=[fleet.settings.share(one) for one in lives.positions["consequence"]]
    )
    if positions.empty or not positions["counts"].sum():
        return ()
    wishes = (
        *_wish_day_costs(fleet, positions),
        *_wish_prices(fleet, positions),
        *_wish_lives(fleet, lives, positions),
        *_wish_reasons(lives, positions),
        *_wish_readings(fleet, positions),
        *_wish_histories(fleet, positions),
        *_wish_masses(fleet, positions),
        *_wish_counts(fleet, positions),
        *_wish_ports(fleet, positions),
        *_wish_late_days(fleet),
        *_wish_chase_days(fleet, positions),
    )
    return tuple(sorted(wishes, key=lambda wish: (-wish.weight, wish.text)))


def _wish(text: str, factor: float, positions: pd.DataFrame, concerned: pd.Series) -> Wish:
    share = positions.loc[concerned, "counts"].sum() / positions["counts"].sum()
    return Wish(text=text, weight=factor * float(share))


def _wish_day_costs(fleet: Fleet, positions: pd.DataFrame) -> Iterator[Wish]:
    boats = fleet.boats
    free = _present(boats.loc[boats["day_cost"] == 0.0, "boat"], positions["boat"])
    if free:
        text = f"{_count(free, 'boat')} no day_cost ({_names(free)}): say what a lost day costs"
        yield _wish(f"{text} (boats)", _MONEY, positions, positions["boat"].isin(free))


def _wish_prices(fleet: Fleet, positions: pd.DataFrame) -> Iterator[Wish]:
    parts = fleet.parts
    quoted = set(fleet.prices["part"])
    unpriced = parts.loc[parts["price"].isna() & ~parts["part"].isin(quoted), "part"]
    bare = _present(unpriced, positions["part"])
    if bare:
        text = f"{_count(bare, 'part')} no price ({_names(bare)}): add what one costs"
        where = positions["part"].isin(bare)
        yield _wish(f"{text} (parts or prices)", _MONEY, positions, where)


def _wish_lives(fleet: Fleet, lives: Lives, positions: pd.DataFrame) -> Iterator[Wish]:
    """Wish for expected lives where neither the records nor a family tell."""
    parts = fleet.parts
    failures = lives.lives.loc[lives.lives["failed"], "part"].value_counts()
    told = set(failures.index[failures >= TELLING_FAILURES])
    families = set(parts.loc[parts["part"].isin(told), "family"]) - {""}
    untold = parts.loc[
        parts["expected_life"].isna() & ~parts["part"].isin(told) & ~parts["family"].isin(families),
        "part",
    ]
    used_up = set(fleet.used_with["part"])
    silent = [part for part in _present(untold, positions["part"]) if part not in used_up]
    if silent:
        text = (
            f"{_count(silent, 'part')} no expected_life and fewer than {TELLING_FAILURES} "
            f"failures ({_names(silent)}): a rough guess in hours or days helps (parts)"
        )
        yield _wish(text, _LIFE, positions, positions["part"].isin(silent))


def _wish_reasons(lives: Lives, positions: pd.DataFrame) -> Iterator[Wish]:
    unknown = lives.lives.loc[lives.lives["reason"] == "unknown", "part"]
    parts = sorted(set(unknown))
    if parts:
        text = (
            f"{_count(unknown, 'replacement')} no reason ({_names(parts)}): counted as failures, "
            "though some may have been changed on schedule (replacements)"
        )
        yield _wish(text, _STATE, positions, positions["part"].isin(parts))


def _wish_readings(fleet: Fleet, positions: pd.DataFrame) -> Iterator[Wish]:
    today = pd.Timestamp(fleet.settings.planned_on)
    by_hours = positions[positions["clock"] == "hours"]
    last = fleet.readings.groupby(["boat", "machine"])["read_on"].max()
    machines = sorted(set(zip(by_hours["boat"], by_hours["machine"], strict=True)))
    recent = set(last.index[(today - last).dt.days <= OLD_READING_DAYS])
    old = [machine for machine in machines if machine not in recent]
    if old:
        names = _names([f"{boat} {machine}" for boat, machine in old])
        text = f"{_count(old, 'machine')} no reading for {OLD_READING_DAYS // 30} months ({names})"
        keys = pd.MultiIndex.from_arrays([positions["boat"], positions["machine"]])
        where = pd.Series(keys.isin(old), index=positions.index) & (positions["clock"] == "hours")
        yield _wish(f"{text}: read the meters (readings)", _STATE, positions, where)


def _wish_histories(fleet: Fleet, positions: pd.DataFrame) -> Iterator[Wish]:
    """Wish for the hours at fitting of machines whose age nobody told."""
    machines = fleet.machines
    known = {
        (boat, machine)
        for boat, machine, fitted, hours in zip(
            machines["boat"],
            machines["machine"],
            machines["fitted_on"],
            machines["hours_at_fitting"],
            strict=True,
        )
        if not pd.isna(fitted) and not pd.isna(hours)
    }
    pairs = list(zip(positions["boat"], positions["machine"], strict=True))
    where = pd.Series([pair not in known for pair in pairs], index=positions.index)
    where &= positions["age"].isna()
    unknown = sorted({f"{boat} {machine}" for boat, machine in _pairs(positions[where])})
    if unknown:
        text = (
            f"{_count(unknown, 'machine')} no fitted_on and hours_at_fitting ({_names(unknown)}): "
            "the age of what is fitted is not known (machines)"
        )
        yield _wish(text, _STATE, positions, where)


def _wish_masses(fleet: Fleet, positions: pd.DataFrame) -> Iterator[Wish]:
    boats, parts, measures = fleet.boats, fleet.parts, fleet.settings.measures
    for column, heading, what in (
        ("kg", measures.mass, "mass"),
        ("litres", measures.volume, "room"),
    ):
        limited = set(boats.loc[boats[f"spares_{column}"].notna(), "boat"])
        where = positions["boat"].isin(limited)
        bare = _present(parts.loc[parts[column] == 0.0, "part"], positions.loc[where, "part"])
        if bare:
            text = (
                f"{_count(bare, 'part')} no {heading} ({_names(bare)}): without its {what} a spare "
                f"counts nothing against spares_{heading} (parts)"
            )
            yield _wish(text, _STATE, positions, where & positions["part"].isin(bare))


def _wish_counts(fleet: Fleet, positions: pd.DataFrame) -> Iterator[Wish]:
    """Wish for stock counts of places that have none, or an old one."""
    boats = fleet.boats
    stores = set(boats["store"]) - {""}
    today = pd.Timestamp(fleet.settings.planned_on)
    stock = fleet.stock
    old = stock[(today - stock["counted_on"]).dt.days > OLD_COUNT_DAYS]
    for places, what, said in (
        ((stores | set(positions["boat"])) - set(stock["place"]), "place", "no stock at all"),
        (set(old["place"]), "place", f"stock counted over {OLD_COUNT_DAYS // 30} months ago"),
    ):
        if places:
            served = boats.loc[boats["store"].isin(places) | boats["boat"].isin(places), "boat"]
            names = sorted(places)
            text = f"{_count(names, what)} {said} ({_names(names)}): count what lies there (stock)"
            yield _wish(text, _STATE, positions, positions["boat"].isin(set(served)))


def _wish_ports(fleet: Fleet, positions: pd.DataFrame) -> Iterator[Wish]:
    ports = fleet.ports
    priced = set(ports.loc[ports["price_factor"].notna(), "port"])
    served = set(fleet.sources["delivers_to"])
    legs = fleet.legs[~fleet.legs["to_port"].isin(priced | served)]
    missing = sorted(set(legs["to_port"]) - {""})
    if missing:
        text = (
            f"{_count(missing, 'port')} no price_factor and no source ({_names(missing)}): "
            "nothing is taken to be had there (ports)"
        )
        yield _wish(text, _STATE, positions, positions["boat"].isin(set(legs["boat"])))


def _wish_late_days(fleet: Fleet) -> Iterator[Wish]:
    sources = fleet.sources
    silent = sources.loc[(sources["kind"] == "mail") & sources["late_days"].isna(), "source"]
    names = sorted(set(silent))
    if names:
        text = (
            f"{_count(names, 'mail source')} no late_days ({_names(names)}): an order is taken to "
            "be never later than lead_days (sources)"
        )
        share = len(names) / sources["source"].nunique()
        yield Wish(text=text, weight=_DATES * share)


def _wish_chase_days(fleet: Fleet, positions: pd.DataFrame) -> Iterator[Wish]:
    stored = set(fleet.boats.loc[fleet.boats["store"] != "", "boat"])
    legs = fleet.legs
    boats = sorted(set(legs.loc[legs["chase_days"].isna() & legs["boat"].isin(stored), "boat"]))
    boats = _present(pd.Series(boats, dtype=object), positions["boat"])
    if boats:
        text = (
            f"{_count(boats, 'boat')} a store but legs without chase_days ({_names(boats)}): "
            "taken to be out of its reach there (legs)"
        )
        yield _wish(text, _DATES, positions, positions["boat"].isin(boats))


def _present(names: pd.Series, among: pd.Series) -> list[str]:
    """Return the names that occur among others, each once, sorted."""
    return sorted(set(names) & set(among))


def _pairs(positions: pd.DataFrame) -> Iterator[tuple[str, str]]:
    return zip(positions["boat"], positions["machine"], strict=True)


def _count(names: Collection[object], what: str) -> str:
    many = len(names)
    return f"{many} {what} has" if many == 1 else f"{many} {what}s have"


def _names(names: Sequence[str]) -> str:
    shown = ", ".join(names[:_NAMES])
    return f"{shown} ..." if len(names) > _NAMES else shown
