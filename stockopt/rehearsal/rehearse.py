"""The rehearsal's verb: a plan, and what it is measured by, through the same seasons."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from stockopt.choices.choices import Choices
from stockopt.plan import Plan
from stockopt.rehearsal.buying import keep_rule, list_broken, plan_with
from stockopt.rehearsal.changes import list_changes
from stockopt.rehearsal.compare import compare_plan, see_mean, take_side, total_cost
from stockopt.rehearsal.played import Tally
from stockopt.rehearsal.policy import Policy, policy_of, without_source
from stockopt.rehearsal.rehearsal import Rehearsal, RuleRehearsed, StressRehearsed
from stockopt.rehearsal.rules import Rule, list_rules
from stockopt.rehearsal.seasons import World, play
from stockopt.rehearsal.stress import Stress

THE_PLAN = "the plan"


def rehearse(
    plan: Plan,
    world: World,
    choices: Choices,
    *,
    rules: bool,
    stresses: Iterable[Stress],
    on_step: Callable[[str], None],
) -> Rehearsal:
    """Play a plan through seasons, and what it is to be compared with through the same ones.

    Parameters
    ----------
    plan
        The plan.
    world
        What the seasons are drawn from.
    choices
        Where rules of thumb can buy, and the limits.
    rules
        Whether rules of thumb are played as well.
    stresses
        Worse circumstances to play.
    on_step
        Called with what is done next, in words.
    """
    make = _make_policies(world, choices)
    policy = make(plan, THE_PLAN)
    duels = []
    for rule in _rules(world, rules=rules):
        on_step(f"Buying for the rule: {rule.name}")
        duels.append(_prepare(rule, plan, world, choices))
    on_step("Playing the seasons")
    others = [
        make(other, other_name)
        for duel in duels
        for other, other_name in ((duel.kept, duel.rule.name), (duel.same_money, "same money"))
        if other is not None
    ]
    tally, *tallies = play(world, [policy, *others])
    rehearsal = _compare(plan, policy, tally, world, choices)
    played = list(zip(others, tallies, strict=True))
    told = []
    for duel in duels:
        kept = played.pop(0)
        same = None if duel.same_money is None else played.pop(0)
        told.append(_judge(duel, (policy, tally), kept, same, choices))
    if stresses:
        on_step("Planning for worse circumstances")
    stressed = [_play_stress(stress, plan, policy, make) for stress in stresses]
    paper = world.fleet.settings.paper
    return replace(rehearsal, rules=tuple(told), stresses=tuple(stressed), paper=paper)


def _compare(plan: Plan, policy: Policy, tally: Tally, world: World, choices: Choices) -> Rehearsal:
    used_with = world.fleet.used_with
    pairs = list(zip(used_with["part"], used_with["with_part"], strict=True))
    return compare_plan(
        plan,
        policy,
        tally,
        used_with=pairs,
        from_shelves=frozenset(
            (boat, part)
            for boat, part in policy.stowed
            if (choices.boats[boat].place, part) in policy.shelves
        ),
        seed=world.seed,
    )


Make = Callable[[Plan, str], Policy]


def _make_policies(world: World, choices: Choices) -> Make:
    """Return what makes a policy of a plan for these tables, under a name."""
    places = {boat: choices.boats[boat].place for boat in choices.afloat}
    kits: dict[str, dict[str, int]] = defaultdict(dict)
    table = world.fleet.kits
    for kit, part, quantity in zip(table["kit"], table["part"], table["quantity"], strict=True):
        kits[kit][part] = int(quantity)
    return lambda plan, name: policy_of(plan, places, kits, name)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Duel:
    """A rule, what it comes to, and the plan made with its money."""

    rule: Rule
    kept: Plan
    same_money: Plan | None


Played = tuple[Policy, Tally]


def _rules(world: World, *, rules: bool) -> tuple[Rule, ...]:
    return list_rules(world.fleet, world.lives) if rules else ()


def _prepare(rule: Rule, plan: Plan, world: World, choices: Choices) -> _Duel:
    kept = keep_rule(rule, plan, choices, world.fleet)
    same_money = plan_with(kept.cost.spend_now, choices, world.fleet)
    return _Duel(rule=rule, kept=kept, same_money=same_money)


def _judge(
    duel: _Duel, mine: Played, kept: Played, same: Played | None, choices: Choices
) -> RuleRehearsed:
    """Compare on the same seasons, season by season: most of the luck is common to both."""
    theirs = total_cost(*kept)
    return RuleRehearsed(
        rule=take_side(*kept, broken=tuple(list_broken(duel.kept, choices))),
        same_money=None if same is None else take_side(*same),
        saves=None if same is None else see_mean(theirs - total_cost(*same)),
        plan_saves=see_mean(theirs - total_cost(*mine)),
    )


def _play_stress(stress: Stress, plan: Plan, policy: Policy, make: Make) -> StressRehearsed:
    as_it_stands = without_source(policy, stress.lost_source) if stress.lost_source else policy
    if stress.plan is None:
        (tally,) = play(stress.world, [as_it_stands])
        return StressRehearsed(
            what=stress.what,
            plan=take_side(as_it_stands, tally),
            replanned=None,
            why_none=stress.why_none,
            changes=(),
        )
    made_for_it = make(stress.plan, "planned for it")
    tally, its = play(stress.world, [as_it_stands, made_for_it])
    return StressRehearsed(
        what=stress.what,
        plan=take_side(as_it_stands, tally),
        replanned=take_side(made_for_it, its),
        why_none=(),
        changes=list_changes(plan, policy, made_for_it),
    )
