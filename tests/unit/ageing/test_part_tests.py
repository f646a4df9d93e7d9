import numpy as np
import pandas as pd
import pytest
from ageing_builders import aboard, fell, fit_part, fit_parts, lives_of_parts, ran
from ageing_plain import plain_evidence
from scipy.integrate import quad
from scipy.special import gammaln, logsumexp
from scipy.stats import binom, chi2

from stockopt.ageing.between_boats import compare_boats
from stockopt.ageing.newest import find_newest
from stockopt.ageing.trend import find_trends
from stockopt.ageing.watched import expect_failures, watch

DAY_0 = pd.Timestamp("2025-01-01")


def day(number):
    return DAY_0 + pd.Timedelta(days=float(number))


def watched_of(lives, boats=("Alba",), part="seal"):
    return watch(lives_of_parts({part: lives}).lives, pd.Index([part]), pd.Index(list(boats)))


def renewed(draw, until, *, slots, hasten=None):
    """Pieces of shape 2, replaced as they fail; fitted from `hasten` on they age 3 times faster."""
    lives = []
    for _ in range(slots):
        now = 0.0
        while now < until:
            age = 300 * draw.exponential() ** 0.5
            if hasten is not None and now >= hasten:
                age /= 3
            end = min(now + age, until)
            life = fell(age) if now + age < until else ran(until - now)
            lives += aboard("Alba", life, day(now), day(end))
            now = end
    return lives


def trend_of(lives, shape=2.0, boats=("Alba",)):
    watched = watched_of(lives, boats)
    shapes = np.full(1, shape)
    z, p = find_trends(watched, shapes, expect_failures(watched, shapes, np.ones(len(boats))))
    return z[0], p[0]


def test_trend_by_integration():
    """Sums over the failures against integrals over the hazard of every life."""
    lives = [
        *aboard("Alba", fell(120), day(0), day(100)),
        *aboard("Alba", fell(300), day(0), day(400)),
        *aboard("Alba", fell(80), day(100), day(250)),
        *aboard("Alba", ran(500, 100), day(30), day(600)),
        *aboard("Alba", fell(90), day(250), day(380)),
    ]
    b = 1.7
    spans = [(0, 120, 0, 100), (0, 300, 0, 400), (0, 80, 100, 250), (0, 90, 250, 380)]
    spans.append((100, 500, 30 + 570 * 100 / 500, 600))
    areas = [x**b - u**b for u, x, _, _ in spans]
    scale = 4 / sum(areas)

    def integral(power):
        def each(u, x, start, end):
            return quad(
                lambda a: b * a ** (b - 1) * (start + (end - start) * (a - u) / (x - u)) ** power,
                u,
                x,
            )[0]

        return scale * sum(each(*span) for span in spans)

    expected = (100 + 400 + 250 + 380 - integral(1)) / (integral(2) - integral(1) ** 2 / 4) ** 0.5
    assert trend_of(lives, b)[0] == pytest.approx(expected, rel=1e-6)


def test_a_young_fleet_growing_old_is_no_trend():
    draw = np.random.default_rng(1)
    found = [trend_of(renewed(draw, 500, slots=12)) for _ in range(200)]
    z, p = np.array(found).T
    assert abs(z.mean()) < 0.3
    assert 0.8 < z.std() < 1.15
    # 5 % wanted; 19 of 200 would come once in 200 tests.
    assert (p < 0.05).sum() < 19
    # Taken as of constant rate, the same fleet would seem to have one.
    assert np.mean([trend_of(renewed(draw, 500, slots=12), 1.0)[0] for _ in range(20)]) > 1


def test_failures_that_come_faster_are_seen_and_told():
    draw = np.random.default_rng(2)
    lives = renewed(draw, 2000, hasten=1000, slots=6)
    tests = fit_part(lives, clock="days", wear="wears", expected_life=250).tests
    assert tests.trend_z > 2.6
    assert tests.trend_p < 0.01
    assert tests.trend == "failures come faster of late than the pieces' ages explain, clearly"


def test_few_failures_tell_no_trend():
    tests = fit_part(fell(300, times=3)).tests
    assert (tests.trend_z, tests.trend_p) == (None, None)
    assert tests.trend == "too few failures to tell"


def test_a_first_day_not_seen_is_the_boats_first():
    lives = [
        *aboard("Alba", fell(100), day(0), day(100)),
        *aboard("Alba", fell(150, 50), pd.NaT, day(150)),
        *aboard("Alba", fell(90), day(100), day(190)),
        *aboard("Alba", fell(60), day(150), day(210)),
    ]
    known = [dict(life) for life in lives]
    # Fitted 75 days before the first day, so that at age 50 it is there.
    known[1]["began_on"] = day(-75)
    assert trend_of(lives)[0] == pytest.approx(trend_of(known)[0], rel=1e-9)


def boats_of(lives, boats, shape=1.0):
    watched = watched_of(lives, boats)
    expected = expect_failures(watched, np.full(1, shape), np.ones(len(boats)))
    statistic, p_value = compare_boats(watched, expected)
    return statistic[0], p_value[0]


def test_between_boats_by_hand():
    lives = aboard("A", fell(100, times=6)) + aboard("B", fell(600) + ran(600, times=2))
    statistic, p_value = boats_of(lives, "AB")
    e = np.array([7 * 600 / 2400, 7 * 1800 / 2400])
    assert statistic == pytest.approx(2 * (6 * np.log(6 / e[0]) + np.log(1 / e[1])))
    divisor = 1 + (7 * (1 / e).sum() - 1) / (6 * 7)
    assert p_value == pytest.approx(chi2.sf(statistic / divisor, 1))


def test_between_boats_the_chance_holds_with_few_failures():
    """Against the failures dealt out among the boats by chance, 2 to be expected of each."""
    draw = np.random.default_rng(3)
    boats = "ABCDEF"
    small = 0
    for _ in range(250):
        fails = draw.multinomial(12, np.full(6, 1 / 6))
        lives = [
            life
            for boat, count in zip(boats, fails, strict=True)
            for life in aboard(boat, fell(100, times=int(count)) + ran(2000 - 100 * count))
        ]
        small += boats_of(lives, boats)[1] < 0.05
    # 5 % wanted; over 24 of 250 would come once in 1,000 tests.
    assert 2 < small <= 24


def test_a_boat_that_fails_its_part_faster_is_told():
    lives = aboard("Alba", fell(100, times=9)) + aboard("Boreas", ran(1500, times=4) + fell(900))
    ageing = fit_parts({"seal": lives}, {"part": "seal"}, boats=("Alba", "Boreas"))
    tests = ageing.parts["seal"].tests
    assert tests.boats == "fails faster on some boats than on others, clearly"
    assert tests.boats_p < 0.01


def test_one_boat_tells_no_difference():
    tests = fit_part(fell(100, times=9)).tests
    assert (tests.boats_statistic, tests.boats_p) == (None, None)


def neutral_ratio(lives):
    """Shape free against shape 1, both by plain integration over the mean life."""
    free = plain_evidence(lives, np.log(700), 0.7, np.log(1.5), 0.45, points=600)
    z = np.log(700) + 0.7 * np.linspace(-7, 7, 4001)
    total = -0.5 * ((z - np.log(700)) / 0.7) ** 2 - np.log(0.7 * np.sqrt(2 * np.pi))
    for life in lives:
        total -= (life["left"] - life["entered"]) * np.exp(-z)
        if life["failed"]:
            total -= z
    return np.exp(free - logsumexp(total) - np.log(z[1] - z[0]))


@pytest.mark.parametrize(
    "lives",
    [
        fell(500) + fell(640) + fell(710, 200) + ran(300, times=3),
        fell(20) + fell(150) + fell(800) + ran(2000, times=2) + ran(900, 500),
        fell(450, times=3) + fell(690, times=4) + fell(800, 300) + ran(500),
        [life for age in np.linspace(5, 3000, 130) for life in fell(age)],
    ],
)
def test_wear_ratio_by_plain_integration(lives):
    tests = fit_part(lives, wear="wears", expected_life=700).tests
    assert tests.wear_ratio == pytest.approx(neutral_ratio(lives), rel=2e-3)


def test_wear_in_words():
    draw = np.random.default_rng(4)

    def words(shape, count):
        ages = 700 * draw.exponential(size=count) ** (1 / shape)
        return fit_part([life for age in ages for life in fell(max(age, 1))]).tests.wear

    assert words(3.0, 30) == "wears out with age, clearly"
    assert words(1.0, 400).startswith("fails at random, ")
    assert words(0.6, 60) == "fails when young more than when old, clearly"
    assert fit_part(fell(300) + fell(400)).tests.wear == "too few failures to tell"
    undecided = fit_part(fell(300) + fell(500) + fell(900)).tests
    assert 1 / 3 < undecided.wear_ratio < 3
    assert undecided.wear == "the records do not say whether it wears out or fails at random"


def batch(newest_age, count=4):
    """12 pieces that lasted about 700 hours, and the newest."""
    lives = []
    for number in range(12):
        lives += aboard("Alba", fell(600 + 20 * number), day(30 * number), day(30 * number + 400))
    for number in range(count):
        began = 1000 + number
        lives += aboard("Alba", fell(newest_age + number), day(began), day(began + 50))
    return lives


def test_newest_pieces_that_fail_too_soon_get_a_data_note():
    ageing = fit_parts(
        {"seal": batch(90), "belt": batch(700)},
        *({"part": part, "wear": "wears", "expected_life": 700} for part in ("seal", "belt")),
    )
    tests = ageing.parts["seal"].tests
    assert tests.newest_failures == 4
    assert tests.newest_expected < 0.5
    assert tests.newest_p < 0.01
    assert tests.newest.startswith("of the 4 pieces fitted last 4 failed where 0.")
    (note,) = (note for note in ageing.notes if note.column == "part")
    assert note.text == f"seal: {tests.newest}"
    assert "wrong part, bad batch, or a cause elsewhere?" in note.text
    assert ageing.parts["belt"].tests.newest == (
        "the pieces fitted last do not fail sooner than those before"
    )


def test_newest_by_hand():
    lives = batch(300)
    watched = watched_of(lives)
    newest = find_newest(watched, expect_failures(watched, np.full(1, 2.0), np.ones(1)))
    squares = [(600 + 20 * number) ** 2 for number in range(12)]
    late = [(300 + number) ** 2 for number in range(4)]
    share = sum(late) / (sum(late) + sum(squares))
    assert newest.expected[0] == pytest.approx(16 * share)
    assert newest.p_value[0] == pytest.approx(binom.sf(3, 16, share))


def test_newest_pieces_still_running_count():
    """A piece fitted lately can only have failed early: its sound sisters make up for it."""
    draw = np.random.default_rng(5)
    p_values = []
    for _ in range(150):
        watched = watched_of(renewed(draw, 1500, slots=8))
        expected = expect_failures(watched, np.full(1, 2.0), np.ones(1))
        p_values.append(find_newest(watched, expected).p_value[0])
    # 1 % wanted; over 6 of 150 would come once in 1,000 tests.
    assert (np.array(p_values) < 0.01).sum() <= 6


def test_pieces_fitted_on_one_day_stand_together():
    lives = aboard("Alba", fell(500, times=6), day(0), day(500))
    lives += aboard("Alba", fell(400, times=5), day(600), day(1000))
    watched = watched_of(lives)
    newest = find_newest(watched, expect_failures(watched, np.full(1, 1.0), np.ones(1)))
    assert newest.pieces[0] == 5
    assert newest.failures[0] == 5


def test_log_gamma_of_the_plain_evidence():
    """One failure at a shape known to be 1, against the closed form for a wide mean."""
    near = plain_evidence(fell(100), np.log(100), 1e-6, 0.0, 1e-6)
    assert near == pytest.approx(-1 - np.log(100) + gammaln(2), abs=1e-4)
