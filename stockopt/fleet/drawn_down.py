"""Stock as it should be today: what was counted, less what was changed since."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from datetime import date
from typing import Any

import pandas as pd

from stockopt.errors import Note
from stockopt.fleet.spelling import Tables

Row = Mapping[Hashable, Any]


def draw_down(tables: Tables) -> tuple[dict[str, pd.DataFrame], list[Note]]:
    """Take off the stock what was changed after its count.

    A piece changed on a boat came from her own spares where some were counted before, else from
    her store's; the first to expire are taken first. Rows that do not say when they were counted
    are left as they are, and so is all stock by a change that says what it was already taken off.

    Returns
    -------
    dict, list
        The tables with the stock of today, and a note for each row that lost pieces.
    """
    stock, boats = tables["stock"], tables["boats"]
    stores = dict(zip(boats["boat"], boats["store"], strict=True))
    counted = stock[stock["counted_on"].notna() & stock["on_hand"].gt(0)]
    rows: dict[tuple[str, str], list[Row]] = {}
    in_order = counted.sort_values(["expires_on", "counted_on"], kind="stable")
    for row in in_order.reset_index(names="row").to_dict("records"):
        rows.setdefault((row["place"], row["part"]), []).append(row)
    taken: dict[int, tuple[int, date]] = {}
    changes = tables["replacements"]
    changes = changes[changes["taken_off"].eq("")]
    changes = changes.sort_values(["on", "boat", "part"], kind="stable")
    for change in changes.to_dict("records"):
        left = int(change["quantity"])
        places = (change["boat"], stores.get(change["boat"], ""))
        kept = [row for place in places for row in rows.get((place, change["part"]), [])]
        for shelf in kept:
            index = shelf["row"]
            before = taken[index][0] if index in taken else 0
            pieces = min(left, int(shelf["on_hand"]) - before)
            if pieces > 0 and shelf["counted_on"] < change["on"]:
                taken[index] = (before + pieces, change["on"].date())
                left -= pieces
    if not taken:
        return dict(tables), []
    less = pd.Series({index: pieces for index, (pieces, _) in taken.items()})
    on_hand = stock["on_hand"].sub(less.reindex(stock.index, fill_value=0))
    drawn = stock.assign(on_hand=on_hand.astype(stock["on_hand"].dtype))
    names = stock["part"] + " at " + stock["place"]
    notes = [
        Note(
            table="stock",
            row=index,
            column="counted_on",
            text=f"{pieces} x {names[index]} taken off: changed since the count, last on {last}",
        )
        for index, (pieces, last) in sorted(taken.items())
    ]
    return {**tables, "stock": drawn}, notes
