"""Every part's prior: its own default, moved to where the lives of its family lie.

Members of a family that have an expected life are pooled by the ratio of their true to their
expected mean life. One without is pooled with all members of the family by the mean life itself.
Members on different clocks are never pooled. Below two members with failures, and for a part
without a family, the defaults hold.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stockopt.ageing.ageing import FamilyPool
from stockopt.ageing.expected_lives import find_life_factor
from stockopt.ageing.likelihood import Records
from stockopt.ageing.pooling import Pools, pool_groups, shift_priors
from stockopt.ageing.prior import SHAPE_PRIOR, Prior, Priors, default_priors, line_up
from stockopt.errors import Note

Marks = NDArray[np.bool_]
Ints = NDArray[np.int64]

#: Members with failures below which a family's lives say too little.
LEAST_MEMBERS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Beliefs:
    """The priors of P parts, in numbers and in words, and what they were learnt from.

    `unknown` are the parts of whose mean life neither the table nor a family speaks.
    """

    priors: Priors
    words: list[str]
    families: tuple[FamilyPool, ...]
    life_factor: float
    unknown: frozenset[str]
    notes: tuple[Note, ...]


def learn_priors(parts: pd.DataFrame, records: Records) -> Beliefs:
    """Return every part's prior, learnt from the records of its family.

    Parameters
    ----------
    parts
        The fleet's parts table; columns part, family, clock, wear, expected_life are used.
    records
        What the lives of its parts say, in its order.
    """
    names = list(parts["part"])
    defaults, _ = default_priors(parts)
    life_factor, notes = find_life_factor(
        parts, records, line_up([defaults[part] for part in names])
    )
    defaults, unknown = default_priors(parts, life_factor)
    own = [defaults[part] for part in names]
    words = [prior.words for prior in own]
    priors = line_up(own)

    told = (parts["expected_life"] > 0.0).to_numpy()
    families: list[FamilyPool] = []
    for by_expected_life in (True, False):
        wanted = told if by_expected_life else ~told
        pooled = _pool(parts, records, priors, wanted, by_expected_life)
        if pooled is None:
            continue
        priors = pooled.move(priors)
        for place in np.flatnonzero(pooled.members).tolist():
            family = pooled.families[pooled.group[place]]
            words[place] = _say(own[place], priors, place, family, int(records.failures[place]))
            unknown.pop(names[place], None)
        families += pooled.families
    return Beliefs(
        priors=priors,
        words=words,
        families=tuple(families),
        life_factor=life_factor,
        unknown=frozenset(unknown),
        notes=(*notes, *unknown.values()),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pooled:
    """The families pooled in one way.

    `group` is each part's family, (P,), and `members` marks the parts whose priors it moves.
    """

    group: Ints
    members: Marks
    pools: Pools
    families: list[FamilyPool]

    def move(self, priors: Priors) -> Priors:
        """Return the priors with the members' moved to where their families lie."""
        pools, group = self.pools, np.where(self.members, self.group, 0)
        moved = shift_priors(
            priors,
            pools.life[group],
            pools.shape[group],
            (pools.life_variance + pools.life_doubt)[group],
            (pools.shape_variance + pools.shape_doubt)[group],
        )
        return Priors(
            **{
                field.name: np.where(
                    self.members, getattr(moved, field.name), getattr(priors, field.name)
                )
                for field in fields(Priors)
            }
        )


def _pool(
    parts: pd.DataFrame, records: Records, priors: Priors, wanted: Marks, by_expected_life: bool
) -> _Pooled | None:
    """Pool the families of the parts wanted, those of them that have failures enough."""
    group, keys = _number_families(parts, wanted)
    sample = (group >= 0) & records.watched & (wanted if by_expected_life else True)
    failing = np.bincount(group[sample & (records.failures > 0)], minlength=len(keys))
    enough = failing >= LEAST_MEMBERS
    if not enough.any():
        return None
    kept = (group >= 0) & enough[group]
    group = np.where(kept, (np.cumsum(enough) - 1)[group], -1)
    keys = [key for key, good in zip(keys, enough, strict=True) if good]
    sample &= kept
    first = np.array([int(np.argmax(wanted & (group == number))) for number in range(len(keys))])
    start = priors
    if not by_expected_life:  # all of a family from where its members without one begin
        start = replace(
            priors,
            log_life=priors.log_life[first][group],
            log_life_spread=priors.log_life_spread[first][group],
        )
    pools = pool_groups(records.of(sample), start.of(sample), group[sample], len(keys))
    families = []
    for number, (family, clock) in enumerate(keys):
        failures = records.failures[sample & (group == number)]
        spread = start.log_life_spread[first[number]]
        base = 0.0 if by_expected_life else start.log_life[first[number]]
        middle, apart = SHAPE_PRIOR[""]
        families.append(
            FamilyPool(
                family=family,
                clock=clock,
                parts=len(failures),
                with_failures=int((failures > 0).sum()),
                failures=int(failures.sum()),
                by_expected_life=by_expected_life,
                life=float(np.exp(base + pools.life[number] * spread)),
                life_spread=float(spread * np.sqrt(pools.life_variance + pools.life_doubt)[number]),
                shape=float(middle * np.exp(pools.shape[number] * apart)),
                shape_spread=float(
                    apart * np.sqrt(pools.shape_variance + pools.shape_doubt)[number]
                ),
            )
        )
    return _Pooled(group=group, members=kept & wanted, pools=pools, families=families)


def _number_families(parts: pd.DataFrame, wanted: Marks) -> tuple[Ints, list[tuple[str, str]]]:
    """Return each part's family from 0, -1 for none, and the family and clock of each number.

    Only families with at least one part wanted are numbered, in the order of their names.
    """
    pairs = list(zip(parts["family"], parts["clock"], strict=True))
    keys = sorted({pair for pair, good in zip(pairs, wanted, strict=True) if good and pair[0]})
    numbers = {key: number for number, key in enumerate(keys)}
    return np.array([numbers.get(pair, -1) for pair in pairs], dtype=np.int64), keys


def _say(own: Prior, priors: Priors, place: int, family: FamilyPool, failures: int) -> str:
    """Return the words of a prior that its family moved."""
    lives = f"{family.with_failures} parts, {family.failures} failures"
    borrowed = not family.by_expected_life and failures == 0
    moved = replace(
        own,
        log_shape=float(priors.log_shape[place]),
        log_shape_spread=float(priors.log_shape_spread[place]),
        log_life=float(priors.log_life[place]),
        log_life_spread=float(priors.log_life_spread[place]),
        why=(
            f"family {family.family}"
            if borrowed
            else f"its expected life and family {family.family}: {lives}"
            if family.by_expected_life
            else f"family {family.family}: {lives}"
        ),
    )
    if borrowed:
        return f"no failures yet: borrowed from {family.family} ({lives}); {moved.words}"
    return moved.words
