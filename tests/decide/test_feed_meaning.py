"""A gain in tonnes, days of feed and cost of feed, worked by hand from the verdict's own gain."""

from datetime import date

import pytest
from tests import small_trial as small

from evenground.decide.verdict import verdict

DRAW = small.draw()
HERD = {"heads": 60, "intake_kg": 8.0, "storage_loss_percent": 10.0, "crop_cost_per_ha": 1800.0}


def of(herd, product="silage", **kinds):
    outcome = {"product": product, "standard_moisture_percent": 15.0}
    plan = small.plan(herd=herd, money={"area_ha": 20.0}, outcome=outcome)
    season = small.replaced(small.whole_season(DRAW), **kinds)
    return verdict(small.stored(plan, DRAW, season), today=date(2025, 12, 1), version="0")


def test_tonnes_and_days_follow_from_the_gain():
    main = of(HERD).methods[0]
    tonnes = main.comparison.gain * 20.0 * 0.9
    assert main.feed.tonnes == pytest.approx(tonnes)
    assert main.feed.days == pytest.approx(1000.0 * tonnes / 480.0)
    assert f"{main.feed.days:.0f} days of this feed for the herd" in main.feed.sentences("EUR")[0]


def test_a_tonne_costs_the_hectare_over_its_yield():
    got = of(HERD)
    main, means = got.methods[0], got.comparison.method_means
    a, b = main.feed.costs
    assert (a.method, a.per_t) == ("A", pytest.approx(1800.0 / means["A"]))
    assert b.per_t == pytest.approx((1800.0 + main.budget.chosen.extra_cost_per_ha) / means["B"])
    assert a.per_10_mj == ()


def test_ten_megajoules_name_their_energy_system():
    sheets = [small.lab(n, energy_mj_per_kg=6.5, energy_system="NEL", energy_edition="first") for n in range(1, 17)]
    got = of(HERD, lab_values=sheets)
    ((source, money),) = got.methods[0].feed.costs[0].per_10_mj
    assert source == "invented laboratory, NEL, first"
    assert money == pytest.approx(1800.0 / got.comparison.method_means["A"] / 650.0)
    assert any("NEL, first" in text for text in got.methods[0].feed.sentences("EUR"))


def test_grain_counts_as_its_dry_matter():
    main = of(HERD, "grain").methods[0]
    assert main.feed.tonnes == pytest.approx(main.comparison.gain * 0.85 * 20.0 * 0.9)


def test_without_a_herd_or_cost_nothing_is_told():
    assert of({}).methods[0].feed is None
    assert of({"heads": 60, "intake_kg": 8.0}).methods[0].feed.costs == ()
    assert of({"crop_cost_per_ha": 1800.0}).methods[0].feed.days is None


def test_a_loss_is_told_as_less():
    season = small.whole_season(DRAW, gain_t_per_ha=-0.8)
    plan = small.plan(herd=HERD, money={"area_ha": 20.0})
    main = verdict(small.stored(plan, DRAW, season), today=date(2025, 12, 1), version="0").methods[0]
    assert main.feed.days < 0
    assert "dry matter less after storage" in main.feed.sentences("EUR")[0]
