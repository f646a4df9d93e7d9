"""Stock as it should be today: what was counted and came, less what was changed since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from stockopt.errors import Note
from stockopt.fleet.spelling import Tables

#: A place and a part.
Kept = tuple[str, str]


@dataclass(slots=True, kw_only=True)
class _Pile:
    """One row of stock while it is drawn down.

    Parameters
    ----------
    row
        Of the table.
    since
        First day whose changes come off it.
    known
        The same of what lay there before, where what came was put on an empty row.
    there, came
        Pieces there now, and how many were delivered together; 0 delivered where it was counted.
    gone
        Of those delivered, how many the books took off already.
    lent
        Of those taken here, how many were changed before they came.
    last
        Day of the last change that took one; None before any.
    """

    row: int
    since: pd.Timestamp
    known: pd.Timestamp
    there: int
    came: int
    gone: int
    lent: int = 0
    taken: int = 0
    last: pd.Timestamp | None = None

    def take(self, most: int, on: pd.Timestamp) -> int:
        """Take what there is, and say how many."""
        pieces = max(0, min(most, self.there))
        if pieces:
            self.there -= pieces
            self.taken += pieces
            self.last = on
        return pieces


def draw_down(tables: Tables) -> tuple[dict[str, pd.DataFrame], list[Note]]:
    """Take off the stock what was changed after it was counted or came.

    A piece changed on a boat came from her own spares where there were some, else from her
    store's; the first to expire are taken first. From a count on, changes of later days come off
    a row; from a delivery on (`received_on`), those of the same day too. Rows that say neither
    are left as they are, and so is all stock by a change that says what it was already taken off.

    Returns
    -------
    dict, list
        The tables with the stock of today, and a note for each row that lost pieces.
    """
    stock, boats = tables["stock"], tables["boats"]
    stores = dict(zip(boats["boat"], boats["store"], strict=True))
    piles = _find_piles(stock)
    changes = tables["replacements"].sort_values(["on", "boat", "part"], kind="stable")
    plain = changes["taken_off"].eq("")
    booked = _find_booked(changes[~plain], stores)
    for on, boat, part, quantity in zip(
        *(changes.loc[plain, name] for name in ("on", "boat", "part", "quantity")), strict=True
    ):
        left = int(quantity)
        for kept in ((boat, part), (stores.get(boat, ""), part)):
            left -= _take(piles.get(kept, ()), booked.get(kept, ()), on, left)
    drawn = [pile for rows in piles.values() for pile in rows if pile.taken]
    if not drawn:
        return dict(tables), []
    less = pd.Series({pile.row: pile.taken for pile in drawn})
    on_hand = stock["on_hand"].sub(less.reindex(stock.index, fill_value=0))
    names = stock["part"] + " at " + stock["place"]
    notes = [
        Note(
            table="stock",
            row=pile.row,
            column="counted_on",
            text=f"{pile.taken} x {names[pile.row]} taken off: changed since "
            f"{'they came' if pile.came else 'the count'}, last on {pile.last:%Y-%m-%d}",
        )
        for pile in sorted(drawn, key=lambda pile: pile.row)
    ]
    stock = stock.assign(on_hand=on_hand.astype(stock["on_hand"].dtype))
    return {**tables, "stock": stock}, notes


def _find_piles(stock: pd.DataFrame) -> dict[Kept, list[_Pile]]:
    """Return the rows of each part at each place that are dated, the first to expire first.

    A count on the day of a delivery, or later, knows of it.
    """
    counted = stock["counted_on"] + pd.Timedelta(days=1)
    delivered = stock["received_on"].notna() & ~(counted > stock["received_on"])
    since = stock["received_on"].where(delivered, counted)
    known = counted.where(counted < since, since)
    rows = stock.assign(since=since, known=known, came=stock["received"].where(delivered, 0))
    rows = rows[since.notna()].sort_values(["expires_on", "since"], kind="stable")
    piles: dict[Kept, list[_Pile]] = {}
    names = ("place", "part", "since", "known", "on_hand", "came")
    for row, place, part, day, before, on_hand, pieces in zip(
        rows.index, *(rows[name] for name in names), strict=True
    ):
        pile = _Pile(
            row=int(row),
            since=day,
            known=before,
            there=int(on_hand),
            came=int(pieces),
            gone=max(0, int(pieces) - int(on_hand)),
        )
        piles.setdefault((place, part), []).append(pile)
    return piles


def _find_booked(
    changes: pd.DataFrame, stores: Mapping[str, str]
) -> dict[Kept, list[tuple[pd.Timestamp, int]]]:
    """Return the day and the pieces of the changes that were already taken off each place."""
    booked: dict[Kept, list[tuple[pd.Timestamp, int]]] = {}
    for on, boat, part, quantity, taken_off in zip(
        *(changes[name] for name in ("on", "boat", "part", "quantity", "taken_off")), strict=True
    ):
        if taken_off != "none":
            place = boat if taken_off == "boat" else stores.get(boat, "")
            booked.setdefault((place, part), []).append((on, int(quantity)))
    return booked


def _take(
    piles: Sequence[_Pile],
    booked: Sequence[tuple[pd.Timestamp, int]],
    on: pd.Timestamp,
    wanted: int,
) -> int:
    """Take up to so many pieces for one change from the rows of a place; return how many.

    First from what was there that day. What came later cannot have been used for it, except by
    exchange: where the books took a later change off the older row (this one was written down
    after it, or what expires first was taken), that later change had its piece from what had come
    meanwhile. No more is taken than leaves every change that the books took off its piece.
    """
    if all(pile.known > on for pile in piles):
        return 0
    there = [pile for pile in piles if pile.since <= on]
    later = sorted((pile for pile in piles if pile.since > on and pile.came), key=_when)
    most, before = wanted, sum(pile.there for pile in there)
    for place, pile in enumerate(later):
        most = min(most, before + _count_exchanged(later[place:], booked))
        before += pile.there
    taken = 0
    for pile in (*there, *later):
        pieces = pile.take(most - taken, on)
        pile.lent += pieces if pile.since > on else 0
        taken += pieces
    return taken


def _count_exchanged(piles: Sequence[_Pile], booked: Sequence[tuple[pd.Timestamp, int]]) -> int:
    """Return how many changes since the first of these deliveries came off older rows.

    Less those before it that came off these: a change written down before the delivery it used.
    """
    since = sum(pieces for on, pieces in booked if on >= piles[0].since)
    return since - sum(pile.gone + pile.lent for pile in piles)


def _when(pile: _Pile) -> pd.Timestamp:
    return pile.since
