"""Which store, and which boat, each piece comes from that is moved within a harbour.

The program only knows how many pieces are moved; whose they are makes no difference to the cost.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

from stockopt.program.needs import Need


def share_out_stock(needs: Sequence[Need], drawn: Sequence[int]) -> list[Counter[str]]:
    """Share out the pieces drawn on the stores of a harbour: each boat's own store first.

    Parameters
    ----------
    needs, drawn
        Every need, and the pieces it draws on the stores it can.

    Returns
    -------
    list of Counter
        For each need the pieces by store.
    """
    left: dict[tuple[str, str], int] = {}
    for need in needs:
        left.update({(store, need.part.part): pieces for store, pieces in need.stores})
    shares = [Counter[str]() for _ in needs]
    for own in (True, False):
        for need, share, wanted in zip(needs, shares, drawn, strict=True):
            for store, _ in need.stores:
                if own and store != need.place:
                    continue
                pieces = min(wanted - share.total(), left[store, need.part.part])
                if pieces > 0:
                    share[store] += pieces
                    left[store, need.part.part] -= pieces
    return shares


def share_out_near(
    needs: Sequence[Need], given: Mapping[int, int], wanted: Mapping[int, int]
) -> dict[int, Counter[str]]:
    """Share out what boats have from others of their harbour; what they gave themselves first.

    Parameters
    ----------
    needs
        Every need.
    given, wanted
        By position of the need: surplus pieces the program gives away, at least as many as are
        had, and the pieces had.

    Returns
    -------
    dict
        By position of the need, the pieces by boat.
    """
    left: dict[str, Counter[str]] = defaultdict(Counter)
    for i, pieces in given.items():
        left[needs[i].part.part][needs[i].part.boat] += pieces
    harbours = {needs[i].part.boat: needs[i].harbour for i in (*given, *wanted)}
    shares: dict[int, Counter[str]] = {i: Counter() for i in wanted}
    for own in (True, False):
        for i, pieces in wanted.items():
            part = needs[i].part
            for boat in sorted(left[part.part]):
                if harbours[boat] != needs[i].harbour or (own and boat != part.boat):
                    continue
                moved = min(pieces - shares[i].total(), left[part.part][boat])
                if moved > 0:
                    shares[i][boat] += moved
                    left[part.part][boat] -= moved
    return shares
