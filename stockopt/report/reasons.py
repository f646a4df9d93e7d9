"""Why a line of one plan is otherwise in another: from what the two plans tell of it."""

from __future__ import annotations

from collections.abc import Iterator

from stockopt.report.plan_file import Found, PlanFile, find_measures
from stockopt.report.words import brief
from stockopt.units import Measures

#: Prices and needs that differ by less than this share explain nothing.
LEAST_CHANGE = 0.005


def piece_cost(plan: PlanFile, line: Found) -> float | None:
    """Return what one piece bought for a boat costs landed, averaged; None where none is.

    Orders of the boat herself where she has some for the part, else of any place but another
    boat's: her store's.
    """
    there = [order for order in plan.orders.values() if order["part"] == line["part"]]
    hers = [order for order in there if str(order["place"]).startswith(str(line["boat"]))]
    others = [order for order in there if order["place"] not in plan.boats]
    orders = hers or others
    pieces = sum(order["pieces"] for order in orders)
    if not pieces:
        return None
    return float(sum(order["landed"] * order["pieces"] for order in orders) / pieces)


def find_reasons(
    first: PlanFile, second: PlanFile, before: Found | None, after: Found | None
) -> tuple[str, ...]:
    """Say why one part on one boat is looked after otherwise, the nearest reason first.

    Parameters
    ----------
    first, second
        The plans.
    before, after
        The line in each; None where the boat or part is not planned there.

    Returns
    -------
    tuple of str
        At least one.
    """
    if before is None or after is None:
        return ("planned in the second only" if before is None else "planned in the first only",)
    reasons = [
        *_supposed(first, second, after["boat"], after["part"]),
        *_other_facts(before, after),
        *_other_price(first, second, before, after),
        *_other_limits(first, second, after),
    ]
    return tuple(reasons or _no_other(first, second, before, after))


def find_store_reasons(first: PlanFile, second: PlanFile, store: str, part: str) -> tuple[str, ...]:
    """Say why one level of a store is otherwise, the nearest reason first; at least one."""
    before, after = first.stores.get((store, part)), second.stores.get((store, part))
    if before is None or after is None:
        return ("planned in the second only" if before is None else "planned in the first only",)
    reasons = list(_supposed(first, second, "", part))
    stock = before.get("on_hand", 0), after.get("on_hand", 0)
    if stock[0] != stock[1]:
        reasons.append(f"{stock[1]} in stock instead of {stock[0]}")
    asked = before.get("expected_asked", 0.0), after.get("expected_asked", 0.0)
    if _is_other(*asked):
        reasons.append(
            f"boats are expected to draw {brief(asked[1])} pieces, not {brief(asked[0])}"
        )
    there = {"boat": store, "part": part}
    reasons += _other_price(first, second, there, there)
    each = piece_cost(second, there) or piece_cost(first, there) or 0.0
    full = [list(_list_fleet_full(plan, each)) for plan in (first, second)]
    for name, told, other in (("second", full[1], full[0]), ("first", full[0], full[1])):
        reasons += [f"in the {name} plan {text}" for text in told if not other]
    if not reasons and all(full):
        reasons.append(f"in both plans {full[1][0]}")
    elif not reasons and first.what_if != second.what_if:
        reasons.append("it follows from what is supposed of other lines")
    return tuple(reasons or ("nothing of this level itself: it follows from the boats' lines",))


def _supposed(first: PlanFile, second: PlanFile, boat: str, part: str) -> Iterator[str]:
    """Yield the suppositions of one plan alone that speak of this line; boat "" for a store's."""
    bought = {
        str(sold["source"])
        for plan in (first, second)
        for sold in (*plan.orders.values(), *plan.stores.values())
        if sold["part"] == part and sold.get("source")
    }
    for which, plan, other in (("second", second, first), ("first", first, second)):
        for key in sorted(set(plan.what_if) - set(other.what_if), key=str):
            option, value = key if isinstance(key, tuple) else ("", "")
            name = str(value).rpartition("=")[0]
            speaks = {
                "--pin": name == f"{boat}:{part}",
                "--rate": name == part,
                "--departs": name == boat,
                "--without": str(value) in bought,
            }
            if speaks.get(str(option), False):
                yield f"the {which} plan supposes: {plan.what_if[key]}"


def _other_facts(before: Found, after: Found) -> Iterator[str]:
    """Yield what the plan was given otherwise: stock, floor, need."""
    if before["on_hand"] != after["on_hand"]:
        yield f"{after['on_hand']} of her own instead of {before['on_hand']}"
    if before["carry_at_least"] != after["carry_at_least"]:
        yield f"at least {after['carry_at_least']} must be carried, not {before['carry_at_least']}"
    need = before["expected_need"], after["expected_need"]
    if before["replace_now"] == after["replace_now"] and _is_other(*need):
        yield f"{brief(need[1])} pieces are expected to be needed, not {brief(need[0])}"


def _other_price(first: PlanFile, second: PlanFile, before: Found, after: Found) -> Iterator[str]:
    one, other = piece_cost(first, before), piece_cost(second, after)
    if one is not None and other is not None and _is_other(one, other):
        yield f"a piece costs {other:,.2f} landed, not {one:,.2f}"


def _other_limits(first: PlanFile, second: PlanFile, line: Found) -> Iterator[str]:
    """Yield the limits that leave no room for one piece more, in one plan and not in the other."""
    measures = find_measures(first, second)
    full = [dict(_list_full(plan, line, measures)) for plan in (first, second)]
    for limit, text in full[1].items():
        if limit not in full[0]:
            yield f"in the second plan {text}"
    for limit, text in full[0].items():
        if limit not in full[1]:
            yield f"in the first plan {text}"


def _list_full(plan: PlanFile, line: Found, measures: Measures) -> Iterator[tuple[str, str]]:
    """Yield the limits of one plan that one piece more of the part would break."""
    boat = plan.boats.get(line["boat"])
    told = plan.carry.get((line["boat"], line["part"]))
    if boat is None or told is None:
        return
    carried = told["carry"] + told.get("ahead", 0)
    for unit, shown, words in (
        ("kg", measures.of_mass, measures.mass),
        ("litres", measures.of_room, measures.volume),
    ):
        each = told[unit] / carried if carried else 0.0
        limit = boat[f"{unit}_limit"]
        if limit is not None and each > 0 and boat[unit] + each > limit:
            yield unit, f"her {shown(limit):,.1f} {words} are full"
    # Where none is bought, what the first piece would cost is told with the line.
    each = piece_cost(plan, line) or told.get("one_more_spend") or 0.0
    if boat["budget"] is not None and each > 0 and boat["spend_now"] + each > boat["budget"]:
        yield "budget", f"her budget of {boat['budget']:,.2f} is spent"
    for text in _list_fleet_full(plan, each):
        yield "fleet budget", text


def _list_fleet_full(plan: PlanFile, each: float) -> Iterator[str]:
    """Yield that the fleet's budget has no room for one piece at `each`."""
    over_all = (one for one in plan.keys["limits"] if (one["limit"], one["boat"]) == ("budget", ""))
    budget = next((one["value"] for one in over_all), None)
    if budget is not None and each > 0 and plan.cost("spend_now") + each > budget:
        yield f"the budget of {budget:,.2f} over all is spent"


def _no_other(first: PlanFile, second: PlanFile, before: Found, after: Found) -> Iterator[str]:
    """Say what is left: limits that both plans meet, what the other suppositions bring, or none."""
    for _, text in _list_full(second, after, find_measures(first, second)):
        yield f"in both plans {text}"
        return
    if set(first.what_if) != set(second.what_if):
        yield "it follows from what is supposed of other lines"
    elif first.keys["planned_on"] != second.keys["planned_on"]:
        yield "planned on another day, from the records until then"
    elif (before["buy"], before["moved"]) != (after["buy"], after["moved"]):
        yield "other orders or moves make it cheaper from elsewhere"
    else:
        yield "nothing of this line itself: the plans are that near in cost, or other records count"


def _is_other(before: float, after: float) -> bool:
    return abs(after - before) > LEAST_CHANGE * max(abs(before), abs(after))
