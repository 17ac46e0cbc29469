"""Decimal data become whole numbers, everything else stays as it is."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenground.numerics.integer_scale import exact_values


@given(
    st.lists(st.integers(-(10**5), 10**5), min_size=1, max_size=20),
    st.integers(0, 4),
)
def test_decimals_come_back_as_their_digits(digits, places):
    exact = exact_values([d / 10**places for d in digits])
    assert exact.digits is not None
    assert exact.digits <= places
    assert (exact.values * 10 ** (places - exact.digits)).tolist() == digits


@given(st.lists(st.tuples(st.integers(0, 20_000), st.integers(0, 20_000)), min_size=2, max_size=12))
def test_rounding_of_a_difference_of_readings_is_removed(pairs):
    differences = [a / 1000 - b / 1000 for a, b in pairs]
    exact = exact_values(differences)
    whole = [a - b for a, b in pairs]
    if exact.digits is None:  # only where the difference is so small beside the readings that it is not safe
        assert max(map(abs, whole)) < 20
    else:
        assert (exact.values * 10 ** (3 - exact.digits)).tolist() == whole


def test_ten_decimal_places_are_not_rounded_away():
    assert exact_values([0.1000000001, 0.2]).values.tolist() == [1000000001, 2000000000]


@pytest.mark.parametrize("values", [[1 / 3], [np.pi, 2.0], [1e300, 1.0], [2.0**31]])
def test_other_numbers_stay_floating_point(values):
    exact = exact_values(values)
    assert exact.digits is None
    assert exact.values.tolist() == values
    assert exact.tie_tolerance() == 2 * len(values) * np.finfo(float).eps * sum(values)


def test_zeros_and_shape():
    exact = exact_values(np.zeros((2, 3)))
    assert exact.digits == 0
    assert exact.values.shape == (2, 3)
    assert exact.tie_tolerance() == 0


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_missing_and_infinite_are_refused(bad):
    with pytest.raises(ValueError, match="finite"):
        exact_values([1.0, bad])
