"""Spacing indices against the definitions of ISO 7256-1 and Kachman & Smith, Trans. ASAE 38 (1995) 379-387."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from evenground.stand.spacing import exact, gaps_of, spacing, spacing_class

# A set made for this purpose (not published) with gaps on every border, counted by hand after the definitions.
WORKED = [10, 9, 11, 4, 7, 12, 20, 10, 8, 31, 10, 3, 9, 42, 10, 14.9, 15.0, 15.1, 5.0, 5.1]
millimetres = st.integers(0, 900)
runs = st.lists(millimetres.map(lambda mm: Fraction(mm, 1000)), min_size=1, max_size=60)


def metres(gaps_cm):
    return [exact(g) / 100 for g in gaps_cm]


def test_worked_set():
    got = spacing(metres(WORKED), 0.10)
    assert got.gaps == 20
    assert got.classes == (3, 13, 2, 1, 1)
    assert (got.by_gaps.multiples, got.by_gaps.quality_of_feed, got.by_gaps.misses) == (0.15, 0.65, 0.2)
    # 24 places: 14 right, 3 double, 7 empty
    assert got.by_places is not None
    assert got.by_places.quality_of_feed == pytest.approx(14 / 24, rel=1e-15)
    assert got.by_places.multiples == pytest.approx(3 / 24, rel=1e-15)
    assert got.by_places.misses == pytest.approx(7 / 24, rel=1e-15)
    assert got.precision == pytest.approx(0.2783, abs=5e-5)  # printed to 0.01 %
    assert got.mean_m == pytest.approx(2.511 / 20, rel=1e-15)


def test_worked_set_against_numpy():
    gaps = np.array(WORKED)
    right = gaps[(gaps > 5) & (gaps <= 15)]
    got = spacing(metres(WORKED), 0.10)
    # rounding of sums of twenty numbers only
    assert got.precision == pytest.approx(right.std(ddof=1) / 10, rel=1e-13)
    assert got.sd_m == pytest.approx(gaps.std(ddof=1) / 100, rel=1e-13)
    assert right.mean() == pytest.approx(10.0769, abs=5e-5)


@pytest.mark.parametrize(
    ("ratio", "wanted"),
    [(0, 1), (0.5, 1), (0.51, 2), (1.5, 2), (1.51, 3), (2.5, 3), (2.51, 4), (3.5, 4), (3.51, 5), (40, 5)],
)
@pytest.mark.parametrize("target", [0.1, 0.147, 0.3, 7.0])
def test_borders_belong_to_the_class_below(ratio, wanted, target):
    assert spacing_class(exact(ratio) * exact(target), target) == wanted


def test_a_gap_on_the_border_stays_there_when_it_comes_from_a_tape():
    # in binary this gap of 15 is a little longer, and would be a miss
    assert 16.1 - 1.1 > 15.0
    assert spacing(metres(gaps_of([1.1, 16.1])), 0.10).classes == (0, 1, 0, 0, 0)


def test_evenly_spread_gaps_reach_the_practical_limit():
    # gaps spread evenly over half to one and a half targets: SD = target / sqrt 12 (mid-points of 20 000 equal parts
    # give it to 1e-8, n - 1 to 3e-5)
    gaps = [Fraction(20_001 + 2 * i, 40_000) for i in range(20_000)]
    assert spacing(gaps, 1).precision == pytest.approx(1 / math.sqrt(12), rel=3e-5)


def test_gaps_at_both_ends_reach_the_theoretical_limit():
    # 0.5 itself is a double, so the lower end is approached; population SD 0.5, n - 1 adds 1 / 2n
    gaps = [Fraction(500_001, 1_000_000), Fraction(3, 2)] * 1000
    assert spacing(gaps, 1).precision == pytest.approx(0.5, rel=3e-4)


@given(runs, st.integers(20, 400).map(lambda mm: Fraction(mm, 1000)))
def test_identities(gaps, target):
    got = spacing(gaps, target)
    assert sum(got.classes) == len(gaps) == got.gaps
    shares = got.by_gaps
    assert shares.multiples + shares.quality_of_feed + shares.misses == pytest.approx(1.0, abs=1e-12)
    assume(got.by_places is not None)
    places = got.by_places
    # singles + doubles + empty places = all places
    assert places.multiples + places.quality_of_feed + places.misses == pytest.approx(1.0, abs=1e-12)
    assert min(places.multiples, places.quality_of_feed, places.misses) >= 0


@given(runs, st.integers(20, 400).map(lambda mm: Fraction(mm, 1000)), st.integers(2, 50))
def test_scale_does_not_matter(gaps, target, times):
    one, other = spacing(gaps, target), spacing([g * times for g in gaps], target * times)
    assert one.classes == other.classes
    assert one.by_places == other.by_places
    assert (one.precision is None) == (other.precision is None)


def test_a_perfect_line():
    got = spacing([0.14] * 30, 0.14)
    assert (got.by_gaps.quality_of_feed, got.precision, got.sd_m) == (1.0, 0.0, 0.0)


def test_what_few_gaps_cannot_tell_is_none():
    one = spacing([0.1], 0.1)
    assert (one.precision, one.sd_m) == (None, None)
    doubles = spacing([0.01, 0.01, 0.1], 0.1)
    assert doubles.by_places is None
    assert doubles.as_dict()["by_places"] is None


@pytest.mark.parametrize(
    ("gaps", "target", "says"),
    [([], 0.1, "no gaps"), ([-0.1], 0.1, "zero or above"), ([math.nan], 0.1, "finite"), ([0.1], 0, "above zero"),
     ([0.1], math.inf, "above zero")],
)  # fmt: skip
def test_what_is_no_run(gaps, target, says):
    with pytest.raises(ValueError, match=says):
        spacing(gaps, target)


def test_positions_must_rise():
    with pytest.raises(ValueError, match="rise"):
        gaps_of([0.0, 14.0, 13.0])
