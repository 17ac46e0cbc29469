"""Exact randomisation tests and the posterior: time against a general-purpose library and against the targets."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.stats import permutation_test

from evenground.numerics.normal_posterior import ErrorPrior, GainData, GainPrior, gain_posterior
from evenground.numerics.orders import OrderPlan
from evenground.numerics.reference_sets import listed_test, pair_set
from evenground.numerics.sign_flips import count_weights, counted_flip_test, sign_flip_test

Row = dict[str, object]


def median_ms(call: Callable[[], object], repeats: int) -> float:
    """Return the median time of a call [ms], after one call that is not counted."""
    call()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return 1000 * statistics.median(times)


def library_test(differences: np.ndarray) -> float:
    """Return the exact p of the same question from the general-purpose library, vectorised."""
    answer = permutation_test(
        (differences,), np.sum, vectorized=True, permutation_type="samples", n_resamples=np.inf, alternative="two-sided"
    )
    return float(answer.pvalue)


def sixteen_pairs(rng: np.random.Generator) -> Row:
    d = rng.normal(0.3, 1.0, 16)
    if abs(library_test(d) - sign_flip_test(d).p_value) > 1e-12:
        raise RuntimeError("the two exact p-values differ")
    ours, peer = median_ms(lambda: sign_flip_test(d), 201), median_ms(lambda: library_test(d), 7)
    return row("sign flips, 16 pairs, all 65,536 orders", ours, "< 1 ms, >= 100x", 1.0, peer, 100.0)


def forty_pairs(rng: np.random.Generator) -> list[Row]:
    rows, weights = [], count_weights(40, [20])
    for kind, d in (("floats", rng.normal(0.1, 1.0, 40)), ("decimals", rng.normal(0.1, 1.0, 40).round(2))):
        signs = rng.permutation(np.repeat([-1, 1], 20))
        every = median_ms(lambda d=d: sign_flip_test(d), 7)
        rows.append(row(f"sign flips, 40 pairs, all 2^40, {kind}", every, "< 1 s", 1e3))
        counted = median_ms(lambda d=d, s=signs, w=weights: counted_flip_test(d, s, w), 7)
        rows.append(row(f"sign flips, 40 pairs, equal AB and BA, {kind}", counted, "< 1 s", 1e3))
    return rows


def listed_set(rng: np.random.Generator) -> Row:
    plan, order = OrderPlan.complete(2, 16), [0, 1] * 16
    y = rng.normal(9.0, 1.0, 32).round(2)
    return row(
        "listed set, 16 pairs", median_ms(lambda: listed_test(pair_set(plan, [], order, 0, 1), y), 7), "none set"
    )


def posterior() -> Row:
    data, prior, error = GainData(0.6, 0.25, 0.25, 7), GainPrior(0.2, 0.4, 0.3), ErrorPrior(0.5, 0.3)

    def answer() -> float:
        result = gain_posterior(data, prior, error)
        for mixture in (result.theta, result.mu, result.next_season):
            mixture.interval(0.9)
        return result.mu.chance_above(0.4)

    return row("posterior, three gains with intervals", median_ms(answer, 201), "< 2 ms", 2.0)


def row(
    name: str, ours: float, target: str, most_ms: float = np.inf, peer: float | None = None, least_ratio: float = 0.0
) -> Row:
    ratio = None if peer is None else peer / ours
    reached = ours < most_ms and (ratio is None or ratio >= least_ratio)
    return {"name": name, "ours_ms": ours, "peer_ms": peer, "ratio": ratio, "target": target, "reached": reached}


def run() -> list[Row]:
    """Return one row a measurement: name, our and the peer's median [ms], ratio, target, whether it was reached."""
    rng = np.random.default_rng(40)
    return [sixteen_pairs(rng), *forty_pairs(rng), listed_set(rng), posterior()]
