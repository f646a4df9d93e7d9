"""Stock read from the books against a ledger of what really lay where.

The world goes day by day, one event a day: a piece changed comes from her own spares, else from
her store's, else it was bought on the spot. What is told of it to the books, by `use`, `receive`
and `count` or as a plain row of replacements, is told in the order of the days or in any other.
"""

from collections import Counter
from datetime import date, timedelta

import pandas as pd
from builders import make_sheet
from fleet_builders import make_fleet
from hypothesis import example, given, settings
from hypothesis import strategies as st

from stockopt.books.entries import make_entries
from stockopt.books.events import Count, Receive, Use
from stockopt.errors import StockoptError
from stockopt.fleet.drawn_down import draw_down
from stockopt.fleet.tables import TABLES
from stockopt.fleet.typed import fill_defaults, type_sheet

BEGIN = date(2031, 1, 1)
EARLY, LATE = date(2032, 1, 1), date(2033, 1, 1)
PLACES = ("Alba", "Brisa", "Shed")
STATIC = {
    "boats": [{"boat": "Alba", "store": "Shed"}, {"boat": "Brisa", "store": "Shed"}],
    "machines": [{"boat": boat, "machine": "engine", "model": "M"} for boat in ("Alba", "Brisa")],
    "parts": [{"part": "seal", "name": "Seal", "price": 10, "clock": "days"}],
    "fitted": [{"model": "M", "part": "seal", "quantity": 9}],
}
FLEET = make_fleet(settings={"planned_on": date(2031, 12, 1)}, **STATIC)


class Books:
    """Tables in memory, written by what the commands write."""

    def __init__(self, counted):
        self.tables = {"stock": counted, "replacements": []}

    def keep(self, event):
        tables = {**STATIC, **{name: rows for name, rows in self.tables.items() if rows}}
        sheets = {name: make_sheet(name, rows) for name, rows in tables.items()}
        for entry in make_entries(event, FLEET, sheets).entries:
            rows = self.tables[entry.table]
            if entry.row is None:
                rows.append(dict(entry.cells))
            else:
                rows[entry.row - 2].update(entry.cells)

    def read(self):
        tables = {"boats": FLEET.boats}
        for name, rows in self.tables.items():
            frame, problems = type_sheet(make_sheet(name, rows), TABLES[name])
            assert not problems
            tables[name] = fill_defaults(frame, TABLES[name])
        stock = draw_down(tables)[0]["stock"]
        assert (stock["on_hand"] >= 0).all()
        return dict(stock.groupby("place")["on_hand"].sum().reindex(list(PLACES), fill_value=0))


class World:
    """What lies where, by expiry, and how the books are told of what happens."""

    def __init__(self, expiries):
        self.lies = {place: Counter() for place in PLACES}
        self.expiries = expiries

    def take(self, place, wanted):
        taken = 0
        for expiry in self.expiries:
            pieces = min(wanted - taken, self.lies[place][expiry])
            self.lies[place][expiry] -= pieces
            taken += pieces
        return taken

    def happen(self, kind, boat, place, pieces, expiry, day):
        """Let it happen; return what the books are told: rows as dicts, events as they are."""
        change = {"boat": boat, "machine": "engine", "part": "seal", "on": day}
        if kind == "plain":
            self.take("Shed", pieces - self.take(boat, pieces))
            return [{**change, "quantity": pieces, "reason": "failed"}]
        if kind == "use":
            place = place if place in (boat, "Shed") else ""
            taken = self.take(place, pieces) if place else pieces
            drawn = {boat: "boat", "Shed": "store", "": ""}[place]
            use = Use(**change, quantity=taken or 1, reason="failed", drawn_from=drawn)
            return [use] if taken else []
        if kind == "receive":
            self.lies[place][expiry] += pieces
            told = {"place": place, "part": "seal", "quantity": pieces, "on": day}
            return [Receive(**told, expires_on=expiry)]
        return [
            Count(place=at, part="seal", on_hand=self.lies[at][one], on=day, expires_on=one)
            for at in (PLACES if kind == "stocktake" else (place,))
            for one in self.expiries
        ]


def tell(books, told):
    """Tell the books everything; a use that they refuse is told again when more is told."""
    waiting = list(told)
    while waiting:
        refused = []
        for event in waiting:
            if isinstance(event, dict):
                books.tables["replacements"].append(event)
                continue
            try:
                books.keep(event)
            except StockoptError:
                if not isinstance(event, Count):
                    refused.append(event)
        assert len(refused) < len(waiting), "a use of what was there is never taken"
        waiting = refused


KINDS = ("plain", "plain", "use", "use", "receive", "receive")


def histories(kinds, expiries):
    event = st.tuples(
        st.sampled_from(kinds),
        st.sampled_from(("Alba", "Brisa")),
        st.sampled_from(PLACES),
        st.integers(1, 4),
        st.sampled_from(expiries),
        st.integers(0, 99),
    )
    return st.lists(event, min_size=1, max_size=9)


def begin(expiries, first):
    world = World(expiries)
    counted = [
        {"place": place, "part": "seal", "on_hand": on_hand, "expires_on": one, "counted_on": BEGIN}
        for place, on_hand in zip(PLACES, first, strict=True)
        for one in expiries[:1]
    ]
    for place, on_hand in zip(PLACES, first, strict=True):
        world.lies[place][expiries[0]] = on_hand
    return world, Books(counted)


def tell_in_turn(history, first, expiries):
    """Return what the books hold, told in the order of the turns, and what is there."""
    world, books = begin(expiries, first)
    told = []
    for number, (*what, turn) in enumerate(history, start=1):
        day = BEGIN + timedelta(days=number)
        told += [(turn, one) for one in world.happen(*what, day)]
    tell(books, [one for _, one in sorted(told, key=lambda pair: pair[0])])
    return books.read(), {place: world.lies[place].total() for place in PLACES}


PLAIN = [("plain", "Alba", "Alba", 1, None, 0)]


def came(place, pieces, turn):
    return "receive", "Alba", place, pieces, None, turn


def used(place, turn):
    return "use", "Alba", place, 1, None, turn


FIRST = st.tuples(*[st.integers(0, 4)] * 3)


@settings(max_examples=30, deadline=None)
@given(histories(KINDS, (None,)), FIRST)
# A use is written down before the delivery that lies on the row it emptied by then.
@example([*PLAIN * 3, came("Alba", 3, turn=9), *PLAIN, used("Alba", turn=0)], (1, 0, 0))
# ... and before the delivery it used, after a later one.
@example([came("Alba", 1, turn=2), used("Alba", 1), *PLAIN, came("Alba", 1, turn=0)], (0, 0, 1))
def test_told_in_any_order_the_books_hold_what_is_there(history, first):
    found, there = tell_in_turn(history, first, (None,))
    assert found == there


@settings(max_examples=30, deadline=None)
@given(histories(KINDS, (EARLY, LATE)), FIRST)
def test_in_any_order_too_where_pieces_expire_on_different_days(history, first):
    found, there = tell_in_turn(history, first, (EARLY, LATE))
    assert found == there


@settings(max_examples=30, deadline=None)
@given(histories((*KINDS, "count", "stocktake"), (None,)), FIRST)
def test_places_counted_on_different_days_are_never_overstated(history, first):
    """A change before the count of her own may have come from her store: it is taken off there."""
    found, there = tell_in_turn(history, first, (None,))
    assert all(found[place] <= pieces for place, pieces in there.items())
    assert all(found[boat] == there[boat] for boat in ("Alba", "Brisa"))


@settings(max_examples=30, deadline=None)
@given(histories((*KINDS, "stocktake"), (EARLY, LATE)), FIRST, st.integers(-2, 3))
def test_told_day_by_day_the_books_hold_what_is_there_and_a_count_mends_them(
    history, first, strayed
):
    world, books = begin((EARLY, LATE), first)
    for number, (kind, boat, place, pieces, expiry, _) in enumerate(history, start=1):
        if kind == "stocktake":  # pieces were lost or found before it
            there = world.lies[place]
            there[expiry] = max(0, there[expiry] + strayed)
        day = BEGIN + timedelta(days=number)
        tell(books, world.happen(kind, boat, place, pieces, expiry, day))
        assert books.read() == {one: world.lies[one].total() for one in PLACES}


@settings(max_examples=30, deadline=None)
@given(histories((*KINDS, "count"), (None,)), FIRST)
def test_tables_without_deliveries_read_as_they_did(history, first):
    """The rule of tables written before: a change comes off the rows counted before it, no more."""
    rows = [
        {
            "place": place,
            "part": "seal",
            "on_hand": on_hand,
            "counted_on": BEGIN + timedelta(days=n),
        }
        for n, (_, _, place, on_hand, _, _) in enumerate(history)
    ]
    changes = [
        {"on": BEGIN + timedelta(days=turn % 9), "boat": boat, "machine": "engine", "part": "seal"}
        | {"quantity": pieces, "taken_off": {"use": "boat", "count": "store"}.get(kind, "")}
        for kind, boat, _, pieces, _, turn in history
    ]
    left = [row["on_hand"] for row in rows]
    for change in sorted(changes, key=lambda change: (change["on"], change["boat"])):
        wanted = 0 if change["taken_off"] else change["quantity"]
        for place in (change["boat"], "Shed"):
            for n, row in enumerate(rows):
                if row["place"] == place and row["counted_on"] < change["on"]:
                    pieces = min(wanted, left[n])
                    left[n] -= pieces
                    wanted -= pieces
    books = Books(rows)
    books.tables["replacements"] = changes
    found = books.read()
    assert sum(found.values()) == sum(left)
    wanted_at = pd.Series(left).groupby([row["place"] for row in rows]).sum().to_dict()
    assert {place: pieces for place, pieces in found.items() if place in wanted_at} == wanted_at
