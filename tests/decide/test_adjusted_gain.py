"""The gain at equal plants/m2, against a published analysis of covariance and base R."""

import pytest

from evenground.compare.values import StripValues
from evenground.decide.adjusted_gain import adjusted_gains

# Snedecor & Cochran, Statistical Methods (1967), p. 422, three treatments of ten, one covariate; data as printed in the
# GLM chapter of the SAS/STAT user's guide, which gives the residual mean square 16.046254 on 26 degrees of freedom.
BEFORE = {
    "F": (16, 13, 11, 9, 21, 16, 12, 12, 7, 12),
    "A": (11, 8, 5, 14, 19, 6, 10, 6, 11, 3),
    "D": (6, 6, 7, 8, 18, 8, 19, 8, 5, 15),
}
AFTER = {
    "F": (13, 10, 18, 5, 23, 12, 5, 16, 1, 20),
    "A": (6, 0, 2, 8, 11, 4, 13, 1, 8, 0),
    "D": (0, 2, 3, 1, 18, 4, 14, 9, 1, 9),
}
# R 4.2, lm(after ~ treatment + before): estimate and standard error
R_PUBLISHED = {"A": (-3.446138279933, 1.886780648418), "D": (-3.337166947723, 1.853866424172)}
R_SLOPE = 0.987183811130
# Six invented blocks of two strips; R 4.2: lm(y ~ m + bl + x), confint(level = 0.9), and lm(y ~ m + bl)
METHODS, BLOCKS = "ABBAABBAABAB", [1 + i // 2 for i in range(12)]
PLANTS = (8.1, 8.9, 8.6, 8.4, 7.9, 8.8, 9.1, 8.2, 8.3, 8.1, 8.5, 9.0)
YIELD = (13.1, 14.2, 13.9, 13.5, 12.8, 13.6, 14.4, 13.3, 13.0, 12.9, 13.7, 14.1)


def values(methods, blocks, outcome, names=None):
    names = names or [str(i) for i in range(len(outcome))]
    return StripValues(tuple(names), tuple(methods), tuple(map(str, blocks)), tuple(map(float, outcome)))


def test_published_covariance():
    methods = [m for m in AFTER for _ in range(10)]
    y = values(methods, [1] * 30, [v for m in AFTER for v in AFTER[m]])
    x = values(methods, [1] * 30, [v for m in AFTER for v in BEFORE[m]])
    got = adjusted_gains(y, x, "F")
    assert [g.method for g in got] == ["A", "D"]
    for one in got:
        # R prints 12 digits
        assert (one.adjusted_gain, one.standard_error) == pytest.approx(R_PUBLISHED[one.method], rel=1e-11)
        assert (one.slope, one.df) == (pytest.approx(R_SLOPE, rel=1e-11), 26)
    # difference of plain means, by hand
    assert got[0].plain_gain == pytest.approx(5.3 - 12.3)


def test_blocks_against_r():
    (one,) = adjusted_gains(values(METHODS, BLOCKS, YIELD), values(METHODS, BLOCKS, PLANTS), "A")
    assert one.adjusted_gain == pytest.approx(0.105227655987, rel=1e-10)
    assert one.standard_error == pytest.approx(0.123594619464, rel=1e-10)
    assert one.slope == pytest.approx(0.989881956155, rel=1e-10)
    assert one.interval == pytest.approx((-0.158257136326, 0.368712448299), rel=1e-9)
    assert one.plain_gain == pytest.approx(0.6166666666667, rel=1e-12)
    assert (one.strips, one.df) == (12, 4)
    assert "The draw protects the first figure" in one.words
    assert one.as_dict()["method"] == "B"


def test_equal_plants_leave_the_gain_as_it_is():
    even = [v - 0.5 * (m == "B") for v, m in zip(PLANTS, METHODS, strict=True)]
    apart = sum(v if m == "B" else -v for v, m in zip(even, METHODS, strict=True)) / 6
    even = [v - apart * (m == "B") for v, m in zip(even, METHODS, strict=True)]
    (one,) = adjusted_gains(values(METHODS, BLOCKS, YIELD), values(METHODS, BLOCKS, even), "A")
    assert one.plants_apart == pytest.approx(0.0, abs=1e-12)
    assert one.adjusted_gain == pytest.approx(one.plain_gain, rel=1e-12)


def test_strips_without_a_count_are_left_out_of_both():
    y, x = values(METHODS, BLOCKS, YIELD), values(METHODS[2:], BLOCKS[2:], PLANTS[2:], [str(i) for i in range(2, 12)])
    (one,) = adjusted_gains(y, x, "A")
    again = adjusted_gains(values(METHODS[2:], BLOCKS[2:], YIELD[2:]), values(METHODS[2:], BLOCKS[2:], PLANTS[2:]), "A")
    assert one.strips == 10
    assert (one.plain_gain, one.adjusted_gain) == pytest.approx((again[0].plain_gain, again[0].adjusted_gain))


@pytest.mark.parametrize(
    ("methods", "blocks", "y", "x"),
    [
        ("ABAB", (1, 1, 2, 2), (1, 2, 1, 3), (8, 9, 8, 9)),  # plants tell the method and nothing else
        ("ABAB", (1, 1, 2, 2), (1, 2, 1, 3), (8, 9, 8, 7)),  # no degree of freedom left
        ("AABB", (1, 1, 2, 2), (1, 2, 1, 3), (8, 9, 8, 7)),  # blocks do not join the methods
        ("BBCC", (1, 2, 1, 2), (1, 2, 1, 3), (8, 9, 8, 7)),  # no baseline
    ],
)
def test_where_nothing_can_be_told_nothing_is(methods, blocks, y, x):
    assert adjusted_gains(values(methods, blocks, y), values(methods, blocks, x), "A") == ()
