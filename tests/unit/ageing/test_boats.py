import numpy as np
import pandas as pd
import pytest
from ageing_builders import aboard, fell, fit_parts, fleet_of_parts, lives_of_parts, ran
from scipy.optimize import minimize
from scipy.special import chdtrc, gammaln

from stockopt.ageing.boats import collect_cells, find_boat_spread, fit_factors, mean_factors
from stockopt.ageing.fit import fit_ageing
from stockopt.ageing.watched import watch


def season(draw, factors, parts=8, pieces=6, mean=800.0, hours=2500.0):
    """Lives of wearing parts on boats whose hazards are `factors` times the same."""
    lives = {}
    for part in range(parts):
        own = lives.setdefault(f"p{part}", [])
        for boat, factor in factors.items():
            scale = mean * (1 + 0.2 * part) * factor**-0.5
            for _ in range(pieces):
                left = draw.uniform(0.2, 1.0) * hours
                while left > 1.0:
                    age = max(scale * draw.exponential() ** 0.5, 1.0)
                    own += aboard(boat, fell(age) if age < left else ran(left))
                    left -= age
    return lives


def cells_of(lives, boats, shape=2.0):
    names = pd.Index(list(lives))
    watched = watch(lives_of_parts(lives).lives, names, pd.Index(list(boats)))
    return collect_cells(watched, np.full(len(names), shape))


def fleet_for(lives, boats):
    parts = [{"part": part, "wear": "wears", "expected_life": 900} for part in lives]
    return fleet_of_parts(*parts, boats=tuple(boats))


def spread_factors(draw, boats, spread):
    return {
        f"B{number:02d}": draw.gamma(spread**-2, spread**2) if spread else 1.0
        for number in range(boats)
    }


def joint_log_likelihood(cells, log_rate, variance):
    """The likelihood of every cell's Poisson failures, the gamma factors integrated out."""
    boats = len(cells.boat_failures)
    expected = np.bincount(cells.boat, np.exp(log_rate)[cells.part] * cells.area, minlength=boats)
    seen, size = cells.boat_failures, 1 / variance
    own = gammaln(size + seen) - gammaln(size) + size * np.log(size)
    own -= (size + seen) * np.log(size + expected)
    return cells.part_failures @ log_rate + own.sum()


def test_variance_is_the_likeliest_by_direct_maximisation():
    draw = np.random.default_rng(3)
    factors = spread_factors(draw, 9, 0.6)
    cells = cells_of(season(draw, factors, parts=3, pieces=1), factors)
    fitted = fit_factors(cells)

    def loss(at):
        return -joint_log_likelihood(cells, at[:-1], np.exp(at[-1]))

    direct = minimize(
        loss,
        np.append(np.zeros(3), -1.0),
        method="Nelder-Mead",
        options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 10_000},
    )
    assert fitted.variance == pytest.approx(np.exp(direct.x[-1]), rel=1e-3)
    none = joint_log_likelihood(
        cells, np.log(cells.part_failures / np.bincount(cells.part, cells.area)), 1e-9
    )
    assert fitted.statistic == pytest.approx(2 * (-direct.fun - none), abs=1e-3)


def test_factors_are_the_means_of_the_gamma_given_the_failures():
    """By integration over the gamma, one boat at a time."""
    seen, expected, variance = np.array([0.0, 3.0, 14.0]), np.array([2.0, 2.5, 6.0]), 0.4
    z = np.linspace(1e-6, 15, 200_001)
    density = z ** (1 / variance - 1) * np.exp(-z / variance)
    for factor, o, e in zip(mean_factors(variance, seen, expected), seen, expected, strict=True):
        posterior = density * z**o * np.exp(-e * z)
        assert factor == pytest.approx((z * posterior).sum() / posterior.sum(), rel=1e-6)


@pytest.mark.parametrize("seed", [1, 2])
def test_hard_run_boats_are_found_again(seed):
    draw = np.random.default_rng(seed)
    factors = spread_factors(draw, 20, 0.6)
    lives = season(draw, factors, parts=4, pieces=4)
    ageing = fit_ageing(lives_of_parts(lives), fleet_for(lives, factors))
    assert ageing.boat_spread.used
    assert ageing.boat_spread.p_value < 0.01
    assert ageing.boat_spread.spread == pytest.approx(0.6, abs=0.2)
    true = np.array(list(factors.values()))
    found = np.array([ageing.boat_factors[boat] for boat in factors])
    assert np.corrcoef(np.log(true), np.log(found))[0, 1] > 0.85
    (note,) = (note for note in ageing.notes if note.column == "boat")
    assert "some boats fail their parts faster than others" in note.text
    assert f"{max(factors, key=ageing.boat_factors.get)} {found.max():.2f}" in note.text


def test_shapes_are_not_flattened_by_boats_that_differ():
    """Mixed boats taken as alike would look as if their parts wore less."""
    draw = np.random.default_rng(4)
    factors = spread_factors(draw, 25, 0.9)
    lives = season(draw, factors, parts=4, pieces=2)
    ageing = fit_ageing(lives_of_parts(lives), fleet_for(lives, factors))
    mixed = {part: aboard("one", own) for part, own in lives.items()}
    blind = fit_ageing(lives_of_parts(mixed), fleet_for(lives, ["one"]))
    own = np.mean([part.shape for part in ageing.parts.values()])
    assert own == pytest.approx(2.0, abs=0.15)
    assert own > np.mean([part.shape for part in blind.parts.values()]) + 0.1


def test_boats_that_are_alike_are_seldom_told_apart():
    draw = np.random.default_rng(6)
    told = []
    for _ in range(60):
        factors = spread_factors(draw, 8, 0.0)
        cells = cells_of(season(draw, factors, parts=3, pieces=1), factors)
        told.append(find_boat_spread(cells)[1].used)
    # 5 % at most; 9 of 60 would come once in 300 tests.
    assert sum(told) < 9


def test_alike_boats_all_have_factor_one():
    draw = np.random.default_rng(7)
    factors = spread_factors(draw, 8, 0.0)
    lives = season(draw, factors, parts=3, pieces=1)
    ageing = fit_ageing(lives_of_parts(lives), fleet_for(lives, factors))
    spread = ageing.boat_spread
    assert not spread.used
    assert set(ageing.boat_factors.values()) == {1.0}
    assert "do not show that boats differ" in spread.words
    assert not [note for note in ageing.notes if note.column == "boat"]
    if spread.statistic > 0:
        assert spread.p_value == pytest.approx(chdtrc(1, spread.statistic) / 2)


def test_one_boat_or_few_failures_say_nothing():
    one = fit_parts({"seal": fell(300, times=12)}, {"part": "seal"})
    assert one.boat_spread.statistic is None
    assert dict(one.boat_factors) == {"Alba": 1.0}
    few = fit_ageing(
        lives_of_parts({"seal": fell(300) + aboard("Boreas", fell(200))}),
        fleet_of_parts({"part": "seal"}, boats=("Alba", "Boreas", "Circe")),
    )
    assert few.boat_spread.p_value is None
    assert "too few" in few.boat_spread.words
    assert dict(few.boat_factors) == {"Alba": 1.0, "Boreas": 1.0, "Circe": 1.0}
