"""Student's t and Fisher's F against printed tables and scipy.stats."""

import math

import numpy as np
import pytest
from scipy import stats

from evenground.numerics.t_distribution import f_upper_tail, quantile, two_sided_p

# Abramowitz & Stegun (1964), table 26.10, quoted from memory: 97.5 % points.
TABLE = {1: 12.706, 2: 4.303, 5: 2.571, 10: 2.228, 14: 2.145, 30: 2.042, 120: 1.980, math.inf: 1.960}


@pytest.mark.parametrize(("df", "printed"), TABLE.items())
def test_table(df: float, printed: float) -> None:
    assert quantile(0.975, df) == pytest.approx(printed, abs=5.1e-4)
    assert two_sided_p(printed, df) == pytest.approx(0.05, abs=1e-4)


@pytest.mark.parametrize("df", [0.7, 1.0, 2.5, 6.15064, 44.4, 1e4])
@pytest.mark.parametrize("t", [0.0, 0.3, 2.148, 9.0, 60.0])
def test_fractional_degrees_of_freedom(df: float, t: float) -> None:
    """Another implementation; far tails are asked for relatively."""
    assert two_sided_p(t, df) == pytest.approx(2 * float(stats.t.sf(t, df)), rel=1e-10)
    assert two_sided_p(-t, df) == two_sided_p(t, df)


@pytest.mark.parametrize("df", [0.7, 1.0, 2.5, 6.15064, 44.4, 1e4, math.inf])
@pytest.mark.parametrize("chance", [0.001, 0.05, 0.5, 0.9, 0.9999])
def test_quantile_and_chance_belong_together(df: float, chance: float) -> None:
    t = quantile(chance, df)
    assert two_sided_p(t, df) == pytest.approx(2 * min(chance, 1 - chance), rel=1e-8)


def test_arrays() -> None:
    p = two_sided_p(np.array([1.0, -2.0, np.inf]), np.array([5.0, math.inf, 3.0]))
    assert p == pytest.approx([2 * stats.t.sf(1.0, 5), 2 * stats.norm.sf(2.0), 0.0], rel=1e-10)


@pytest.mark.parametrize("f", [0.1, 1.5, 18.2])
@pytest.mark.parametrize("df", [(1, 3.3), (2, 5.97277), (11, 79.1)])
def test_f(f: float, df: tuple[float, float]) -> None:
    assert f_upper_tail(f, *df) == pytest.approx(float(stats.f.sf(f, *df)), rel=1e-9)


def test_f_with_one_numerator_df_is_t_squared() -> None:
    assert f_upper_tail(2.3**2, 1, 7.7) == pytest.approx(two_sided_p(2.3, 7.7), rel=1e-10)


def test_negative_f_is_zero() -> None:
    assert f_upper_tail(-1.0, 2, 5) == 1.0


def test_refusals() -> None:
    with pytest.raises(ValueError, match="above zero"):
        two_sided_p(1.0, 0.0)
    with pytest.raises(ValueError, match="above zero"):
        quantile(0.5, -1.0)
    with pytest.raises(ValueError, match="between 0 and 1"):
        quantile(1.0, 5.0)
    with pytest.raises(ValueError, match="above zero"):
        f_upper_tail(1.0, 0.0, 5.0)
