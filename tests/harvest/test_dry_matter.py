import pytest
from tests import small_trial as small

from evenground.harvest.corrections import latest_ids
from evenground.harvest.dry_matter import figures, sampling_error
from evenground.harvest.joining import join
from evenground.harvest.mass import load_masses, pooled_sd, scale_repeatability_kg


def repeats(n):
    """n strips sampled twice, one point above and one below 33 %: the variance within a strip is 2 points squared."""
    return [small.sample(s, 33.0 + off, n=i) for s in range(1, n + 1) for i, off in enumerate((-1.0, 1.0))]


def test_sampling_error_comes_from_strips_sampled_twice():
    error = sampling_error(repeats(4), 5.0)
    assert (error.source, error.df) == ("repeats", 4)
    assert error.sd_fraction == pytest.approx(0.02**0.5 / 10)


@pytest.mark.parametrize("n", [0, 1, 2])
def test_too_few_repeats_leave_the_default(n):
    error = sampling_error(repeats(n), 1.5)
    assert (error.source, error.df, error.sd_fraction) == ("plan default", n, 0.015)


def test_several_samples_of_one_strip_are_averaged_and_less_uncertain():
    (figure,) = figures([1], [small.sample(1, 31.0, 1), small.sample(1, 33.0, 2)], 1.0)
    assert figure.dry_matter_fraction == pytest.approx(0.32)
    assert figure.sd_fraction == pytest.approx(0.01 / 2**0.5)
    assert figure.sample_ids == ("S1-1", "S1-2")


def test_a_sample_of_fewer_strips_is_the_closer_one():
    got = figures([1, 2, 3, 4], [small.sample("1+2+3+4", 30.0), small.sample("1+2", 34.0)], 1.0)
    assert {f.serves: f.dry_matter_fraction for f in got} == {(1, 2): 0.34, (3, 4): 0.30}


def test_strips_in_any_order_are_the_same_group():
    (figure,) = figures([1, 2], [small.sample("1+2", 30.0), small.sample("2+1", 34.0)], 1.0)
    assert figure.dry_matter_fraction == pytest.approx(0.32)


def test_a_corrected_sample_does_not_count_twice():
    (figure,) = figures([1], [small.sample(1, 90.0), small.sample(1, 33.0, 2, replaces="S1-1")], 1.0)
    assert figure.sample_ids == ("S1-2",)


def test_pooled_sd_is_none_without_repeats():
    assert pooled_sd([]) is None
    assert pooled_sd([(1.0,), (2.0,)]) is None
    assert pooled_sd([(1.0, 2.0, 3.0), (5.0, 5.0)]) == pytest.approx((2.0 / 3.0) ** 0.5)


def test_chains_of_corrections_end_at_the_last():
    loads = [small.load(1), small.load(2, 1, replaces="L1-1"), small.load(3, 1, replaces="L2-1")]
    assert latest_ids(loads) == {"L1-1": "L3-1", "L2-1": "L3-1", "L3-1": "L3-1"}


def test_corrections_in_a_circle_end():
    loads = [small.load(1, replaces="L2-1"), small.load(2, replaces="L1-1")]
    assert set(latest_ids(loads)) == {"L1-1", "L2-1"}


def test_scale_repeatability_needs_a_load_weighed_twice():
    loads = [small.load(1), small.load(2)]
    once = [small.weighing("L1-1", 5000.0), small.weighing("L2-1", 5000.0)]
    masses = load_masses(join(loads, once))
    assert scale_repeatability_kg(masses) is None
    masses = load_masses(join(loads, [*once, small.weighing("L1-1", 5040.0, 2)]))
    assert scale_repeatability_kg(masses) == pytest.approx(40 / 2**0.5)
