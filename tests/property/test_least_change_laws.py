"""What is said to mend a clash mends it, and a little less does not."""

from dataclasses import replace

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from program_builders import random_choices

from stockopt.errors import NoPlanError
from stockopt.program.loosen import mend
from stockopt.program.solve import solve_program

LAW = settings(max_examples=40, deadline=None, derandomize=True)
#: What is too little of each kind of change that goes in small steps.
A_LITTLE = {
    "kg": 0.01,
    "litres": 0.01,
    "boat budget": 0.02,
    "fleet budget": 0.02,
    "readiness": -0.01,
    "minimum_order": -0.02,
    "carry_at_least": -1,
    "most": 1,
    "stock": 1,
}


def draw_tight(seed, share):
    """Return a random instance with its limits cut to a share."""
    choices = random_choices(seed)
    boats = {
        boat: replace(
            limits,
            kg=None if limits.kg is None else share * limits.kg,
            budget=None if limits.budget is None else share * limits.budget,
        )
        for boat, limits in choices.boats.items()
    }
    budget = None if choices.budget is None else share * choices.budget
    return replace(choices, boats=boats, budget=budget)


def find_clashes_of(choices):
    try:
        solve_program(choices, gap=0.0, seconds=30.0)
    except NoPlanError as error:
        return error.clashes
    return ()


@given(seed=st.integers(0, 10**6), share=st.sampled_from([0.2, 0.5, 1.0]))
@LAW
def test_the_first_remedies_together_mend_it(seed, share):
    choices = draw_tight(seed, share)
    clashes = find_clashes_of(choices)
    assume(clashes)
    assert all(clash.remedies for clash in clashes), clashes
    for clash in clashes:
        choices = mend(choices, clash.remedies[0])
    assert find_clashes_of(choices) == ()


@given(seed=st.integers(0, 10**6), share=st.sampled_from([0.2, 0.5, 1.0]))
@LAW
def test_every_remedy_of_a_lone_clash_mends_it_and_no_less_does(seed, share):
    choices = draw_tight(seed, share)
    clashes = find_clashes_of(choices)
    assume(len(clashes) == 1)
    for remedy in clashes[0].remedies:
        if remedy[0].limit == "departs_on":
            continue
        assert find_clashes_of(mend(choices, remedy)) == (), remedy
        if len(remedy) == 1:
            (change,) = remedy
            less = replace(change, needed=change.needed - A_LITTLE[change.limit])
            worth = (less.needed - change.value) * (change.needed - change.value) > 0.0
            if worth or less.needed == change.value:
                assert find_clashes_of(mend(choices, [less])), change
