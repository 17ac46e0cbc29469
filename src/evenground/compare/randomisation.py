"""The randomisation test of a method against the baseline, on the orders the draw could have given."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from evenground.compare.comparison import RandomisationTest
from evenground.compare.reference_set import ReferenceSet
from evenground.compare.values import StripValues
from evenground.numerics.order_tests import order_test
from evenground.numerics.orders import OrderPlan
from evenground.numerics.reference_sets import PairSet, listed_test, sampled_test
from evenground.numerics.sign_flips import ExactTest

DRAWS = 99_999


def randomisation_test(
    values: StripValues, method: str, baseline: str, reference: ReferenceSet | None, rng: np.random.Generator
) -> RandomisationTest | None:
    """Return the test of the absolute gain over the reference set.

    Answers: had both methods been alike, in what share of the orders the draw could have given would the gain have
    come out at least as large, up or down? Ties count as extreme.

    Parameters
    ----------
    values : StripValues
        One row a strip [outcome unit]; only blocks that hold both methods count.
    method, baseline : str
        Who is compared; strips of other methods stay where they are.
    reference : ReferenceSet or None
        What the draw allowed; None means every order within blocks.
    rng : numpy.random.Generator
        Used only where the set is too large to count.

    Returns
    -------
    RandomisationTest or None
        None where no block holds both methods as drawn.

    Source: Fisher, The Design of Experiments (1935), section 21; sampled sets as in `sampled_test`.
    """
    if reference is None:
        return _free(values, method, baseline, rng)
    left = reference.as_weighed(values, method, baseline)
    if left is None:
        return None
    pairs, outcome = left
    return _exact(listed_test(pairs, outcome)) if reference.listed else _sampled(pairs, outcome)


def _free(values: StripValues, method: str, baseline: str, rng: np.random.Generator) -> RandomisationTest | None:
    """Test over every order within blocks."""
    blocks = _both(values, method, baseline)
    if not blocks:
        return None
    plan = OrderPlan(tuple(codes for codes, _ in blocks))
    order = [code for codes, _ in blocks for code in codes]
    outcome = np.concatenate([y for _, y in blocks])
    test = order_test(plan, [], order, outcome, first=0, second=1, rng=rng, draws=DRAWS)
    return RandomisationTest(test.p_value, test.exact, test.standard_error, test.smallest_p, plan.count())


def _both(values: StripValues, method: str, baseline: str) -> list[tuple[tuple[int, ...], NDArray[np.float64]]]:
    """Codes (1 for the method, 0 for the baseline) and outcomes of each block that holds both."""
    y, blocks = values.y, []
    for block in values.block_order:
        rows = [i for i, b in enumerate(values.blocks) if b == block and values.methods[i] in (method, baseline)]
        codes = tuple(int(values.methods[i] == method) for i in rows)
        if 0 < sum(codes) < len(codes):
            blocks.append((codes, y[rows]))
    return blocks


def _exact(test: ExactTest) -> RandomisationTest:
    return RandomisationTest(test.p_value, True, 0.0, test.smallest_p, test.total)


def _sampled(sample: PairSet, outcome: NDArray[np.float64]) -> RandomisationTest:
    """Return a sampled answer; nobody can list the set, so it has no size."""
    test = sampled_test(sample, outcome)
    return RandomisationTest(test.p_value, False, test.standard_error, test.smallest_p, None)
