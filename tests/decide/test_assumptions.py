import pytest
from tests import small_trial as small

from evenground.compare.comparison import Priors
from evenground.decide.assumptions import priors_of, variations


def test_percentages_become_tonnes_by_the_expected_yield():
    plan = small.plan(
        outcome={"expected_t_per_ha": 20.0},
        prior={"gain_mean_percent": 2.0, "gain_sd_percent": 5.0, "season_sd_percent": 3.0, "strip_error_percent": 4.0},
    )
    got = priors_of(plan)
    assert (got.gain_mean, got.gain_sd, got.season_sd, got.strip_error_median) == pytest.approx((0.4, 1.0, 0.6, 0.8))
    assert got.strip_error_log_sd == plan.prior.strip_error_log_sd  # a spread of a logarithm has no unit
    assert got.gain_source == plan.prior.gain_source


def test_each_spread_is_halved_and_doubled_and_nothing_else_changes():
    base = priors_of(small.plan())
    seen = set()
    for label, other in variations(base):
        changed = {
            k: getattr(other, k) / getattr(base, k)
            for k in ("gain_sd", "season_sd", "strip_error_log_sd", "gain_mean", "strip_error_median")
            if getattr(other, k) != getattr(base, k)
        }
        ((name, times),) = changed.items()
        assert ("halved" in label) == (times == 0.5)
        seen.add((name, times))
    assert seen == {(n, t) for n in ("gain_sd", "season_sd", "strip_error_log_sd") for t in (0.5, 2.0)}


def test_what_was_not_assumed_is_not_varied():
    assert variations(Priors()) == ()
    assert len(variations(Priors(season_sd=0.2))) == 2
