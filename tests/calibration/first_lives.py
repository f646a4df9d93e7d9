"""First lives of unknown age: what leaving them out of the fit loses, and what would bring it back.

12 positions whose first pieces are of unknown age are watched for 0.5 to 4 mean lives; one part,
of shape 1 or 2.5. Three posteriors of its mean life, all from one prior (log mean normal around
the truth missed by up to tenfold, spread 0.7; log shape around 1.5, spread 0.45):

* left out: lives that begin under watch alone, as the ageing room does;
* equilibrium: a first life that fails r after the watch began adds log S(r) - log m, and one that
  still runs log Q(1/b, (r/e)^b), the law of what is left of a piece met at a moment that has
  nothing to do with it (Cox 1962, Renewal Theory, chapter 5; from memory);
* ages known: what could be learnt if every age were written down.

The machines are old (past of 20 mean lives) or younger (0 to 2), where the equilibrium is not true.
"""

import numpy as np
from scipy.special import gammaincc, gammaln

SHAPES, WATCHES, PASTS = (1.0, 2.5), (0.5, 1.0, 2.0, 4.0), {"old": (20, 20), "younger": (0, 2)}
TREATMENTS = ("left out", "equilibrium", "ages known")
POSITIONS = 12

LOG_SHAPE = np.linspace(np.log(0.3), np.log(8.0), 36)[:, None]
LOG_MEAN = np.linspace(-4.0, 4.0, 121)[None, :]
GRID_SHAPE = np.exp(LOG_SHAPE)
LOG_SCALE = LOG_MEAN - gammaln(1.0 + 1.0 / GRID_SHAPE)


def draw_lives(rng, shape, past, watched):
    """Return rows of age when met, age when it left, whether it failed, whether it is a first."""
    rows = []
    scale = np.exp(-gammaln(1.0 + 1.0 / shape))
    for _ in range(POSITIONS):
        clock, began = -rng.uniform(*past), None
        while clock < watched:
            life = scale * rng.weibull(shape)
            end = min(clock + life, watched)
            if end > 0.0:
                rows.append((max(-clock, 0.0), end - clock, clock + life <= watched, began is None))
                began = clock
            clock += life
    return rows


def log_likelihood(rows, treatment):
    """Return the log likelihood on the grid."""
    total = np.zeros(np.broadcast_shapes(GRID_SHAPE.shape, LOG_MEAN.shape))

    def hazard(age):
        return np.exp(np.minimum(GRID_SHAPE * (np.log(max(age, 1e-9)) - LOG_SCALE), 600.0))

    for met, left, failed, first in rows:
        if first and treatment == "left out":
            continue
        if first and treatment == "equilibrium":
            reached = hazard(left - met)
            if failed:
                total += -reached - LOG_MEAN
            else:
                total += np.log(np.maximum(gammaincc(1.0 / GRID_SHAPE, reached), 1e-300))
            continue
        total -= hazard(left) - (hazard(met) if met > 0.0 else 0.0)
        if failed:
            total += LOG_SHAPE - LOG_SCALE + (GRID_SHAPE - 1.0) * (np.log(left) - LOG_SCALE)
    return total


def posterior(rows, treatment, centre):
    """Return the median of the log mean life, and the ends of its 90 % interval."""
    log_weight = log_likelihood(rows, treatment)
    log_weight = log_weight - 0.5 * ((LOG_MEAN - centre) / 0.7) ** 2
    log_weight = log_weight - 0.5 * ((LOG_SHAPE - np.log(1.5)) / 0.45) ** 2
    weight = np.exp(log_weight - log_weight.max()).sum(axis=0)
    chance = np.cumsum(weight) / weight.sum()
    return np.interp([0.5, 0.05, 0.95], chance, LOG_MEAN[0])


def measure(shape, past, watched, sets=60):
    """Return for each treatment bias, root mean square error and coverage of log mean life."""
    rng = np.random.default_rng([5, int(10 * shape), int(past[0]), int(10 * watched)])
    found = {treatment: [] for treatment in TREATMENTS}
    for _ in range(sets):
        centre = rng.uniform(-0.5, 0.5) * np.log(10.0)
        rows = draw_lives(rng, shape, past, watched)
        for treatment in TREATMENTS:
            found[treatment].append(posterior(rows, treatment, centre))
    scores = {}
    for treatment, values in found.items():
        middle, low, high = np.array(values).T
        covered = ((low <= 0.0) & (high >= 0.0)).mean()
        scores[treatment] = middle.mean(), np.sqrt((middle**2).mean()), covered
    return scores


def table(sets=60):
    lines = [
        "| shape | machines | watched, mean lives | "
        + " | ".join(f"{name}: bias, error, cover" for name in TREATMENTS)
        + " |",
        "|---" * (3 + len(TREATMENTS)) + "|",
    ]
    for shape in SHAPES:
        for age, past in PASTS.items():
            for watched in WATCHES:
                scores = measure(shape, past, watched, sets).values()
                cells = [f"{bias:+.2f}, {error:.2f}, {cover:.0%}" for bias, error, cover in scores]
                lines.append(f"| {shape:g} | {age} | {watched:g} | " + " | ".join(cells) + " |")
    return "\n".join(lines)
