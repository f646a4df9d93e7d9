"""Sheet "How it was worked out": method in words, assumptions, limits and cautions."""

from __future__ import annotations

import math

from stockopt.ageing.ageing import Ageing, FamilyPool
from stockopt.report.run import Run
from stockopt.report.sheet import Column, Sheet, Table, plain_rows
from stockopt.report.words import (
    brief,
    gap_text,
    hard_on_parts,
    money_text,
    pieces_text,
    range_text,
    share_text,
)
from stockopt.settings import Settings

#: Standard deviations that hold 90 % of a normal distribution on either side of its middle.
NORMAL_95 = 1.645

METHOD = (
    (
        "Lives",
        "Every place a part is fitted has a clock: the hours of its machine, or the calendar. The "
        "replacement records cut it into lives. 'failed', 'worn' and 'unknown' end a life as a "
        "failure. Scheduled changes, swaps, borrowed pieces and pieces still running tell only "
        "that the part lasted so long. A first life whose beginning nobody saw tells nothing about "
        "ageing.",
    ),
    (
        "How parts age",
        "A Weibull law: the chance of surviving to an age t is exp(-(t / scale)^shape). Records "
        "and expectation are weighed by Bayes' rule, so a part with few records leans on "
        "what was expected and its interval stays wide. All intervals are 90 %.",
    ),
    (
        "Families",
        "What is expected of a part is learnt from its family: how far the lives of its members "
        "lie from their expected ones, and how much members differ from each other. A part with no "
        "failure and no expected life borrows its family's. A family with fewer than two members "
        "that failed teaches nothing.",
    ),
    (
        "Boats",
        "Where the records of all parts together show that some boats fail their parts faster than "
        "others, each boat has a factor: her pieces of any age fail so many times as often as "
        "another's. Otherwise boats are taken as alike.",
    ),
    (
        "Best age to change",
        "A change planned in port costs the piece and its fitting; a failure costs the piece, its "
        "fitting, what else it does and the days lost. The best age is where their cost over the "
        "length of a life is least, averaged over what is not known of the part. Where no age "
        "saves anything, run it to failure.",
    ),
    (
        "Failures per 1,000",
        "Failures divided by all the hours (or days) watched, times 1,000; its interval is the "
        "exact chi-square one. With no failure it still has an upper end: lasting is information.",
    ),
    (
        "Pieces needed",
        "For every fitted piece, from its age today: the chance of 0, 1, 2 ... changes on the legs "
        "to come, a new piece starting its own life at each change. Pieces on one boat are added "
        "before the uncertainty about the part is mixed in, because twins share what is not "
        "known. Pieces used up with another part, and changes due by a fixed interval, are added.",
    ),
    (
        "Landed cost",
        "(price per piece + freight by mass) x (1 + duty) x (1 + tax), or with duty on the price "
        "alone where the source says so. Freight per order and handling are paid once per order, "
        "whatever is in it. Only sources that deliver before departure 9 times in 10 are used; "
        "order by = departure less those days.",
    ),
    (
        "Expected cost later",
        "What failures under way cost even with a spare aboard, plus, for every piece short, the "
        "piece at the next port and the days lost there, plus pieces restocked and fitting what "
        "is replaced now, and the worth of the spares and of the life of fitted parts used up. "
        "What spares bought now stay worth at the end is taken off: a cost below zero means that "
        "most of what is bought is still there.",
    ),
    (
        "The plan",
        "Exactly one choice of carry, replace now and restock for each part on each boat, and "
        "whole packs, such that money now plus expected cost later is least within all the "
        "limits. Pieces used up by what is replaced now are counted in, sets are weighed beside "
        "their parts, and what boats and stores of one port (or of one store) have too much of is "
        "moved free of charge (common practice), never what a boat takes herself. An exact solver "
        "proves how near the best it is; afterwards every total and limit is added up again "
        "without the solver.",
    ),
    (
        "Stores",
        "For every number of pieces on the shelf when the season begins, the best source, reorder "
        "point and order quantity, worked out backwards from the last day: pieces asked for at "
        "random at the rate of the boats' needs, lives as uncertain as they are, lead times with "
        "half the orders beyond the usual days and 1 in 10 beyond the late days, one order at a "
        "time. A piece not there is got at once where that costs least, lost days counted. Stores "
        "and boats are chosen in one program, in rounds until they agree.",
    ),
    (
        "Why, and what a little more is worth",
        "One piece more is weighed with everything else of the plan left as it is, in whole packs "
        "and orders; the limits in its way are those it would break. What a little more of a limit "
        "is worth comes from solving the plan again; as each plan is proven to a gap, it is told "
        "as two amounts between which the truth lies.",
    ),
)

LIMITS = (
    (
        "Common causes",
        "Failures are taken as independent once a part's ageing is given. One bad load of fuel, an "
        "overheated engine, a lightning strike or a wet locker hits several parts at once: there "
        "the true risk is higher than shown.",
    ),
    (
        "Hidden failures",
        "A bilge pump or float switch that failed unseen counts as working until it is tested.",
    ),
    (
        "Spares themselves",
        "Every spare is taken to be the right part, sound, in date where the tables give a date, "
        "and found when wanted; and somebody aboard is taken to be able to fit it.",
    ),
    (
        "Two clocks",
        "A part that ages by hours and by the calendar is followed on one of them only.",
    ),
    (
        "Averages",
        "Costs are expected values over many seasons; one season may be much better or worse.",
    ),
    (
        "Prices, duties, delays",
        "Taken from your tables as they are. Check customs relief and fees with an agent.",
    ),
)

CAUTIONS = (
    (
        "Who decides",
        "These numbers help to plan. Whether a boat is fit for sea is for the skipper, the manager "
        "and the surveyor to say.",
    ),
    (
        "What goes before",
        "Local codes, classification, flag state, insurer and race rules, and the makers' manuals "
        "hold wherever they ask for more, or sooner. No compliance with any of them is claimed.",
    ),
    (
        "Safety equipment",
        "Minimum quantities (carry_at_least) are kept whatever they cost or weigh; they are never "
        "traded for money. Enter there what your rules ask for.",
    ),
    (
        "A spare prevents nothing",
        "Inspect all the same. Test bilge pumps, alarms, navigation lights and the distress beacon "
        "on their own schedule.",
    ),
    (
        "Before engine work",
        "Stop and cool the engine, isolate its battery, close the seacock and tag the key. Beware "
        "of belts, hot coolant, high-pressure fuel, exhaust gas, and of flooding whenever "
        "something below the waterline is opened. Reopen the seacock, then check the exhaust water "
        "at once and look for weeps for an hour.",
    ),
    (
        "Fitting",
        "Compare old and new before fitting. Find every broken impeller vane. Gas, rigging, "
        "high-voltage, lithium and under-water work is for licensed mechanics and yards.",
    ),
    (
        "Borrowed parts",
        "A pump, light, radio or steering part taken from another boat takes her safety along: "
        "tag her out of service until it is back, and record both changes.",
    ),
    (
        "Weight",
        "Stow heavy pieces low and secured; a catamaran loses clearance and speed when overloaded.",
    ),
)


def how_sheet(run: Run) -> Sheet:
    """Return what was assumed, how it was worked out, what it cannot know, and cautions."""
    parts = (
        ("Assumptions of this run (settings)", assumptions(run.fleet.settings)),
        ("What this fleet's records taught", learnt(run.ageing)),
        ("Method, in words", METHOD),
        ("What it cannot know", LIMITS),
        ("Cautions", CAUTIONS),
    )
    columns = (
        Column(title="Subject", width=34, kind="prose"),
        Column(title="In words", width=128, kind="prose"),
    )
    return Sheet(
        name="How it was worked out",
        title="How it was worked out",
        tables=tuple(
            Table(
                heading=heading,
                columns=columns,
                rows=plain_rows(rows),
                new_page=rows is METHOD or rows is LIMITS,
            )
            for heading, rows in parts
            if rows
        ),
    )


def learnt(ageing: Ageing) -> list[tuple[str, str]]:
    """Return what all parts' records together say: of families, of boats, of expected lives."""
    rows = [(f"Family {pool.family}, by {pool.clock}", _pool(pool)) for pool in ageing.families]
    if ageing.life_factor != 1.0:
        words = f"{brief(ageing.life_factor)} times as long as expected, over all parts."
        rows.append(("How long parts last", words))
    spread = ageing.boat_spread
    if spread is not None:
        rows.append(("Whether boats differ", f"{spread.words}."))
    if boats := hard_on_parts(ageing):
        rows.append(("How many times as often a boat's pieces fail", f"{'; '.join(boats)}."))
    return rows


def _pool(pool: FamilyPool) -> str:
    """Return what a family's members teach; ranges hold 9 members in 10."""
    watched = f"{pieces_text(pool.parts, 'part')} watched, {pool.with_failures} with failures"
    low, high = (pool.life * math.exp(sign * NORMAL_95 * pool.life_spread) for sign in (-1.0, 1.0))
    life = (
        f"lives are {brief(pool.life)} times the expected ones"
        if pool.by_expected_life
        else f"the mean life is {brief(pool.life)} {pool.clock}"
    )
    return (
        f"{watched}, {pool.failures} in all: {life} ({range_text(low, high)} for 9 members in 10); "
        f"shape {brief(pool.shape, 2)}."
    )


def assumptions(settings: Settings) -> list[tuple[str, str]]:
    """Return the settings in words."""
    budget = "none" if settings.budget is None else money_text(settings.budget, settings.currency)
    readiness = "none" if settings.readiness is None else share_text(settings.readiness)
    rates = ", ".join(
        f"1 {code} = {rate:g} {settings.currency}" for code, rate in sorted(settings.rates.items())
    )
    return [
        (
            "Day of the plan",
            f"{settings.planned_on.isoformat()}: later readings and replacements are left out.",
        ),
        ("Money", f"{settings.currency}{f'; {rates}' if rates else ''}."),
        ("Budget over all", f"{budget}."),
        ("Least readiness of each boat", f"{readiness}."),
        (
            "Share of the day cost lost",
            f"{share_text(settings.share_stops)} while a part that stops the boat is missing, "
            f"{share_text(settings.share_limits)} for one that limits her, "
            f"{share_text(settings.share_nuisance)} for a nuisance.",
        ),
        (
            "Days lost to a failure with the spare aboard",
            f"{settings.days_to_fix:g}, for parts that do not say.",
        ),
        (
            "Worth of what is left over",
            f"{share_text(settings.carry_over)} of its price, for unused spares and unspent life.",
        ),
        ("Money tied up in a store", f"{share_text(settings.capital_rate)} a year."),
        (
            "When the solver stops",
            f"Proven within {gap_text(settings.gap)} of the best, or after "
            f"{settings.seconds:g} seconds.",
        ),
    ]
