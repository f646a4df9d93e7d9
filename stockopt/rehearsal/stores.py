"""Stores behind the boats: what they order when, and what they pay."""

from __future__ import annotations

import math

import numpy as np

from stockopt.fleet.fleet import Fleet
from stockopt.rehearsal.bill import Counter, Served
from stockopt.rehearsal.calendar import Bools, Calendar, Floats
from stockopt.rehearsal.deliveries import draw_days
from stockopt.rehearsal.futures import make_random
from stockopt.rehearsal.money import Till
from stockopt.rehearsal.played import Tally
from stockopt.rehearsal.policy import Policy
from stockopt.rehearsal.shelf import LeadDays, Span
from stockopt.sourcing import Offer, Offers

#: What a store reorders from one source within so many days goes in one order (common practice,
#: no source: once a week, after the turnaround).
ORDERED_TOGETHER_DAYS = 7.0
_DAYS_IN_YEAR = 365.0


class Stores:
    """All stores of a fleet, and their books for one part after another."""

    def __init__(
        self,
        fleet: Fleet,
        offers: Offers,
        calendar: Calendar,
        till: Till,
        *,
        seed: int,
        seasons: int,
    ) -> None:
        self._offers = offers
        self._calendar = calendar
        self._till = till
        self._seed = seed
        self._seasons = seasons
        self._capital_rate = fleet.settings.capital_rate
        owners = fleet.boats.set_index("boat")
        self._boats: dict[str, list[str]] = {}
        self._port: dict[str, str] = {}
        for boat in calendar.boats:
            store = str(owners.at[boat, "store"])
            if store:
                self._boats.setdefault(store, []).append(boat)
                home = str(owners.at[boat, "home_port"])
                self._port[store] = min(home, self._port.get(store, home))

    def keys_of(self, policy: Policy, part: str) -> list[tuple[str, str]]:
        """Return the shelves on which a policy keeps a part."""
        return [(store, part) for store in sorted(self._boats) if (store, part) in policy.shelves]

    def open_counter(self, policy: Policy, key: tuple[str, str]) -> Counter:
        """Return what a shelf is kept with."""
        store, part = key
        shelf = policy.shelves[key]
        offers = self._offers.offers.get((self._port[store], part), ())
        first = next((offer for offer in offers if offer.source == shelf.source), None)
        return Counter(
            boats=self._mask(store),
            shelf=shelf,
            span=self._span(store, first),
            lead=self._lead(key, first),
            offers=offers,
            charges=[self._offers.charges[o.source, self._port[store]] for o in offers],
            landed=first.landed if first is not None else 0.0,
        )

    def _mask(self, store: str) -> Bools:
        return np.array([boat in self._boats[store] for boat in self._calendar.boats])

    def _span(self, store: str, offer: Offer | None) -> Span:
        """Return the season of a store: from its boats' first departure to their last arrival."""
        calendar, boats = self._calendar, self._boats[store]
        begins = min(float(calendar.departs[calendar.first[boat]]) for boat in boats)
        lasts = [calendar.last[boat] for boat in boats]
        ends = max(float(calendar.departs[leg] + calendar.days[leg]) for leg in lasts)
        # What would usually come after the season is not ordered any more.
        lead = offer.lead_days if offer is not None else math.inf
        return Span(begins=begins, ends=ends, last_order=ends - lead)

    def _lead(self, key: tuple[str, str], offer: Offer | None) -> LeadDays:
        seed, seasons = self._seed, self._seasons

        def draw(number: int) -> Floats:
            if offer is None:
                return np.full(seasons, math.inf)
            random = make_random(seed, "reorder", *key, number)
            return draw_days(random, offer.lead_days, offer.late_days, seasons)

        return draw

    def book(self, policy: Policy, key: tuple[str, str], served: Served, tally: Tally) -> None:
        """Book what a shelf came to; the charges of orders come with :meth:`pay_charges`."""
        store, part = key
        kept, shelf = served.kept, policy.shelves[key]
        tally.stores += served.bought
        worth = self._till.spare_worth(self._boats[store][0], part)
        tally.tied_up += worth * (shelf.level - shelf.moved_in - kept.left)
        offers = self._offers.offers.get((self._port[store], part), ())
        piece = min((offer.landed for offer in offers), default=0.0)
        tally.tied_up += self._capital_rate / _DAYS_IN_YEAR * piece * kept.piece_days
        if shelf.source and len(kept.day):
            span = self._span(store, None)
            weeks = int((span.ends - span.begins) // ORDERED_TOGETHER_DAYS) + 2
            ordered = tally.ordered.setdefault(
                (store, shelf.source), np.zeros((len(tally.stores), weeks), dtype=bool)
            )
            week = ((kept.day - span.begins) // ORDERED_TOGETHER_DAYS).astype(np.int64)
            ordered[kept.season, week] = True

    def pay_charges(self, tally: Tally) -> None:
        """Pay the charges of all orders, those of one week and source once."""
        for (store, source), ordered in tally.ordered.items():
            charges = self._offers.charges[source, self._port[store]]
            tally.stores += (charges.per_order + charges.handling) * ordered.sum(axis=1)
