"""The whole line on one screen: each room takes the values before it and gives one value on.

1. errors, units, settings: the floor
2. fleet: tables -> Fleet
3. lives: Fleet -> Lives
4. ageing: Lives -> Ageing
5. demand: Ageing, Fleet -> Demand
6. sourcing: Fleet -> Offers
7. landed: Demand, Fleet -> Landed
8. choices: Demand, Offers -> Choices
9. program: Choices -> Solution
10. plan: Solution, Choices -> Plan
11. why: Plan, Choices -> Why
12. orders: Plan, Demand -> Orders
13. rehearsal: Fleet, Ageing, Plan -> Rehearsal
14. lookback: Plan of then, what happened -> Lookback
15. report: Plan -> files
16. books: Fleet, what happened -> tables
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

from stockopt.ageing.faster import fail_faster
from stockopt.ageing.fit import fit_ageing
from stockopt.choices.choices import Choices
from stockopt.choices.later import weigh_later
from stockopt.choices.settled import Settled
from stockopt.choices.weigh import weigh_choices
from stockopt.choices.withdrawn import withdraw_sources
from stockopt.demand.demand import Demand
from stockopt.demand.forecast import forecast_demand
from stockopt.demand.used_with import count_replaced
from stockopt.errors import InputError, Note, Problem
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.read import read_fleet
from stockopt.fleet.suppose import suppose
from stockopt.fleet.unfilled import find_unfilled
from stockopt.fleet.what_if import Wanted, WhatIf
from stockopt.landed.compare import compare_sources
from stockopt.landed.ports import find_port, home_ports
from stockopt.lives.build import build_lives
from stockopt.lives.wishes import list_wishes
from stockopt.lookback.look_back import KnownThen, look_back
from stockopt.lookback.lookback import Lookback
from stockopt.lookback.season import find_until, sail_again
from stockopt.orders.bought import count_bought
from stockopt.orders.coming import Known
from stockopt.orders.make import make_orders
from stockopt.plan import Plan, make_plan
from stockopt.plan_check import check_plan
from stockopt.program.departures import Later, Weigh, solve_or_tell
from stockopt.program.in_turn import solve_in_turn
from stockopt.program.solution import Solution
from stockopt.rehearsal.asked import Asked, PlanFile
from stockopt.rehearsal.read_plan import plan_of_keys
from stockopt.rehearsal.rehearsal import Rehearsal
from stockopt.rehearsal.rehearse import rehearse
from stockopt.rehearsal.seasons import World
from stockopt.rehearsal.stress import list_stresses
from stockopt.report.run import Checked, Compared, PartLives, Run
from stockopt.sourcing import price_offers
from stockopt.why.explain import BRIEFLY, ask_curves, ask_limits, explain_plan, is_small

Overrides = Mapping[str, Any]
OnStep = Callable[[str], None]


def plan_fleet(
    path: Path,
    overrides: Overrides,
    on_step: OnStep,
    wanted: Wanted = Wanted(),  # noqa: B008 - frozen
) -> Run:
    """Go the whole way from the tables to a plan that was checked without the solver.

    Parameters
    ----------
    path
        Folder of CSV files, or workbook.
    overrides
        Settings given on the command line, by name; they go before the fleet's own.
    on_step
        Called with what is done next, in words.
    wanted
        What is supposed for this plan only.

    Returns
    -------
    Run
        Every value of the way, its plan with the notes of all rooms; errors: stockopt.errors.
    """
    what_if, fleet = suppose(wanted, _read_to_plan(path, overrides, on_step))
    return _plan_read(fleet, what_if, on_step)


def _plan_read(fleet: Fleet, what_if: WhatIf, on_step: OnStep) -> Run:
    """Go the way of :func:`plan_fleet` from tables that are read."""
    on_step("Working out how long parts last")
    lives = build_lives(fleet)
    ageing = fail_faster(fit_ageing(lives, fleet), what_if.rates)
    on_step("Forecasting the pieces needed")
    demand = forecast_demand(ageing, lives, fleet)
    _refuse_no_demand(demand)
    offers = price_offers(fleet)
    landed = compare_sources(demand, fleet, home_ports(fleet), gone=what_if.without)
    on_step("Finding the best plan")

    def weigh(settled: Settled) -> Choices:
        return weigh_choices(demand, offers, lives, fleet, what_if, settled)

    later = partial(weigh_later, fleet, ageing, lives, offers, what_if)
    choices, solution, plan = _find_plan(weigh, fleet, later)
    rooms = (fleet, lives, ageing, demand, offers, choices, plan)
    offers = withdraw_sources(offers, fleet, what_if.without)
    replaced = {(line.boat, line.part): line.replace_now for line in plan.carry}
    needs = count_replaced(demand, replaced)
    known = Known(demand=needs, ageing=ageing, lives=lives, offers=offers, fleet=fleet)
    return Run(
        fleet=fleet,
        lives=lives,
        ageing=ageing,
        demand=demand,
        offers=offers,
        choices=choices,
        solution=solution,
        plan=replace(plan, what_if=what_if, notes=gather_notes(*(room.notes for room in rooms))),
        landed=landed,
        why=explain_plan(plan, solution, choices),
        orders=make_orders(plan, solution, choices, known),
    )


def explain_run(run: Run, on_step: OnStep, *, limits: bool | None, curve: bool) -> Run:
    """Solve again what the plan's limits are worth, and its curves.

    Parameters
    ----------
    run
        From :func:`plan_fleet`.
    on_step
        Called with what is done next, in words.
    limits
        Whether to ask what a little more of each limit is worth; None to ask for a fleet that is
        small enough, and briefly. Asked for, it may take as long as the plan itself.
    curve
        Whether to draw cost and readiness against money and kilos.
    """
    settings, why = run.fleet.settings, run.why
    seconds = settings.seconds if limits else min(BRIEFLY, settings.seconds)
    if limits or (limits is None and is_small(run.choices)):
        why = ask_limits(
            why,
            run.plan,
            run.solution,
            run.choices,
            gap=settings.gap,
            seconds=seconds,
            on_step=on_step,
        )
    if curve:
        why = ask_curves(
            why,
            run.solution,
            run.choices,
            gap=settings.gap,
            seconds=settings.seconds,
            on_step=on_step,
        )
    return replace(run, why=why)


def rehearse_fleet(
    path: Path,
    overrides: Overrides,
    on_step: OnStep,
    *,
    written: PlanFile | None,
    asked: Asked,
) -> Rehearsal:
    """Plan, or take a plan made before, and play it through seasons drawn from the records.

    Parameters
    ----------
    path, overrides, on_step
        As for :func:`plan_fleet`.
    written
        The plan made before; None to plan first.
    asked
        How many seasons, and what they are played for.

    Raises
    ------
    InputError, NoPlanError, SolverError
        As for :func:`plan_fleet`; InputError also where the plan made before does not fit the
        tables.
    """
    if written is None:
        run = plan_fleet(path, overrides, on_step)
        fleet, lives, ageing, offers = run.fleet, run.lives, run.ageing, run.offers
        choices, plan = run.choices, run.plan
    else:
        fleet = _read_to_plan(path, overrides, on_step)
        plan = plan_of_keys(written.keys, written.label, fleet)
        on_step("Forecasting the pieces needed")
        lives = build_lives(fleet)
        ageing = fit_ageing(lives, fleet)
        demand = forecast_demand(ageing, lives, fleet)
        _refuse_no_demand(demand)
        offers = price_offers(fleet)
        choices = weigh_choices(demand, offers, lives, fleet)
    world = World(
        fleet=fleet,
        lives=lives,
        ageing=ageing,
        offers=offers,
        seasons=asked.seasons,
        seed=asked.seed,
    )
    return rehearse(
        plan,
        world,
        choices,
        rules=asked.rules,
        stresses=list_stresses(world, plan, _plan_again) if asked.stress else (),
        on_step=on_step,
    )


def look_back_on_fleet(
    path: Path, overrides: Overrides, on_step: OnStep, *, since: date, until: date | None
) -> Lookback:
    """Plan with what was known on a day, and meet the plan with what failed after it.

    Parameters
    ----------
    path, overrides, on_step
        As for :func:`plan_fleet`.
    since
        The day: what was written down later is not known to the plan.
    until
        Last day of the season looked back on; None for a year, or as far as there are records.

    Raises
    ------
    InputError, NoPlanError, SolverError
        As for :func:`plan_fleet`.
    CommandError
        Where there is nothing to learn from, or nothing to replay.
    """
    on_step("Reading the tables")
    now = read_fleet(path, overrides=overrides)
    _refuse_no_parts(now)
    until = find_until(now, since, until)
    past = sail_again(now, since, until)
    on_step("Learning from the records before")
    lives = build_lives(past.fleet)
    ageing = fit_ageing(lives, past.fleet)
    on_step("Forecasting the pieces needed")
    demand = forecast_demand(ageing, lives, past.fleet)
    _refuse_no_demand(demand)
    offers = price_offers(past.fleet)
    on_step("Finding the plan of that day")
    choices, _, plan = _find_plan(
        partial(weigh_choices, demand, offers, lives, past.ordered, WhatIf()), past.ordered
    )
    known = KnownThen(lives=lives, ageing=ageing, offers=offers, choices=choices)
    return look_back(plan, past, known, now, on_step)


def _plan_again(world: World, without: tuple[str, ...]) -> Plan:
    """Plan for circumstances other than the tables tell, doing without some sources."""
    fleet, lives = world.fleet, world.lives
    ageing = fail_faster(world.ageing, dict.fromkeys(world.ageing.parts, world.rate))
    demand = forecast_demand(ageing, lives, fleet)
    what_if = WhatIf(without=without)
    weigh = partial(weigh_choices, demand, world.offers, lives, fleet, what_if)
    return _find_plan(weigh, fleet)[-1]


def _find_plan(
    weigh: Weigh, fleet: Fleet, later: Later | None = None
) -> tuple[Choices, Solution, Plan]:
    """Find the best plan and check it without the solver.

    Where there is none, only later departures that mend it are told if `later` can weigh them.
    """
    gap, seconds = fleet.settings.gap, fleet.settings.seconds
    if later is None:
        choices, solution = solve_in_turn(weigh, gap=gap, seconds=seconds)
    else:
        choices, solution = solve_or_tell(weigh, later, gap=gap, seconds=seconds)
    plan = make_plan(solution, choices, fleet)
    check_plan(plan, solution, choices)
    return choices, solution, plan


def _read_to_plan(path: Path, overrides: Overrides, on_step: OnStep) -> Fleet:
    """Read the tables; raise InputError where there is nothing to plan."""
    on_step("Reading the tables")
    fleet = read_fleet(path, overrides=overrides)
    if unfilled := find_unfilled(fleet):
        raise InputError(list(unfilled))
    return fleet


def _refuse_no_parts(fleet: Fleet) -> None:
    """Raise InputError where there is no part: nothing can be said then."""
    if fleet.parts.empty:
        expected = "has no row: list the parts of the fleet, one row for each part number"
        raise InputError([Problem(table="parts", expected=expected)])


def _refuse_no_demand(demand: Demand) -> None:
    """Raise InputError where nothing is fitted to any boat that sails."""
    if not demand.parts:
        expected = "fits no part to any boat with legs to come: list what her machines hold"
        raise InputError([Problem(table="fitted", expected=expected)])


def lives_of_fleet(path: Path, overrides: Overrides) -> PartLives:
    """Go as far as how long parts last; parameters and errors as for :func:`plan_fleet`."""
    fleet = read_fleet(path, overrides=overrides)
    _refuse_no_parts(fleet)
    lives = build_lives(fleet)
    ageing = fit_ageing(lives, fleet)
    notes = gather_notes(fleet.notes, lives.notes, ageing.notes)
    return PartLives(fleet=fleet, lives=lives, ageing=ageing, notes=notes)


def check_fleet(path: Path, overrides: Overrides) -> Checked:
    """Go as far as the tables alone decide; parameters and errors as for :func:`plan_fleet`."""
    fleet = read_fleet(path, overrides=overrides)
    lives = build_lives(fleet)
    notes = gather_notes(fleet.notes, lives.notes, price_offers(fleet).notes)
    return Checked(
        fleet=fleet,
        notes=notes,
        wishes=list_wishes(fleet, lives),
        unfilled=find_unfilled(fleet),
    )


def landed_of_fleet(
    path: Path, overrides: Overrides, on_step: OnStep, *, port: str | None, of_plan: bool
) -> Compared:
    """Compare local shops with mail order; parameters and errors as for :func:`plan_fleet`.

    Parameters
    ----------
    path, overrides, on_step
        As for :func:`plan_fleet`.
    port
        The only one to compare at; None for every home port that a source delivers to.
    of_plan
        True to compare what the plan buys, False what the season is expected to need.
    """
    fleet = _read_to_plan(path, overrides, on_step)
    ports = home_ports(fleet) if port is None else (find_port(fleet, port),)
    if not ports:
        expected = "no source delivers to the home port of a boat with legs to come"
        raise InputError([Problem(table="sources", column="delivers_to", expected=expected)])
    if of_plan:
        run = _plan_read(fleet, WhatIf(), on_step)
        demand, notes = run.demand, run.plan.notes
        landed = compare_sources(demand, fleet, ports, count_bought(run.plan, fleet))
        return Compared(fleet=fleet, landed=landed, notes=notes)
    on_step("Forecasting the pieces needed")
    lives = build_lives(fleet)
    ageing = fit_ageing(lives, fleet)
    demand = forecast_demand(ageing, lives, fleet)
    _refuse_no_demand(demand)
    return Compared(
        fleet=fleet,
        landed=compare_sources(demand, fleet, ports),
        notes=gather_notes(fleet.notes, lives.notes, ageing.notes, demand.notes),
    )


def gather_notes(*notes: tuple[Note, ...]) -> tuple[Note, ...]:
    """Return the notes of several rooms, each once, by table and row."""
    return tuple(sorted(set(chain.from_iterable(notes)), key=_note_order))


def _note_order(note: Note) -> tuple[str, int, str, str]:
    row = 0 if note.row is None else note.row
    return note.table, row, note.column, note.text
