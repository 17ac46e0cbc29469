"""A gain in tonnes, days of feed and cost of feed, worked by hand from the verdict's own gain."""

from datetime import date

import pytest
from pydantic import ValidationError
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


def test_the_gain_is_worth_its_value_in_a_short_and_in_a_full_year():
    main = of(HERD).methods[0]
    # 20 ha; the values of the plan, nothing to carry
    assert main.feed.worth_short_year == pytest.approx(main.comparison.gain * 20.0 * 180.0)
    assert main.feed.worth_full_year == pytest.approx(main.comparison.gain * 20.0 * 90.0)
    assert any("in a year short of feed and" in text for text in main.feed.sentences("EUR"))


def test_intake_and_loss_can_be_reckoned_and_say_their_source():
    cows = {"heads": 60, "animals": "dairy", "body_mass_kg": 650, "milk_kg": 30, "fat_percent": 4.0}
    cows |= {"lactation_week": 10, "feed_share_fraction": 0.4, "clamp_density_kg_per_m3": 256}
    main = of(cows).methods[0]
    # published form: 21.91 kg a day; 15.1 % lost at 256 kg/m3, printed in whole kg/m3
    tonnes = main.comparison.gain * 20.0 * (1.0 - 0.151)
    assert main.feed.tonnes == pytest.approx(tonnes, rel=1e-3)
    assert main.feed.days == pytest.approx(1000.0 * tonnes / (60 * 0.4 * 21.91), rel=1e-3)
    said = " ".join(main.feed.sentences("EUR"))
    assert "Storage loses 15 %" in said
    assert "National Research Council 2001" in said


def test_finishing_cattle_are_reckoned_from_their_mass():
    bulls = {"heads": 100, "animals": "finishing", "body_mass_kg": 600, "feed_share_fraction": 0.5}
    main = of({**bulls, "storage_loss_percent": 0.0}).methods[0]
    # 1.7 % of 600 kg is 10.2 kg, half of it this feed
    assert main.feed.days == pytest.approx(1000.0 * main.comparison.gain * 20.0 / (100 * 5.1))


@pytest.mark.parametrize(
    ("herd", "field"),
    [
        ({"animals": "dairy", "body_mass_kg": 650}, "milk_kg"),
        ({"animals": "finishing"}, "feed_share_fraction"),
        ({"animals": "finishing", "body_mass_kg": 600, "feed_share_fraction": 0.5, "intake_kg": 9.0}, "intake_kg"),
    ],
)
def test_what_intake_is_reckoned_from_is_asked(herd, field):
    with pytest.raises(ValidationError) as caught:
        small.plan(herd=herd)
    assert field in {fault[0] for fault in caught.value.errors()[0]["ctx"]["error"].faults}


def test_a_loss_is_told_as_less():
    season = small.whole_season(DRAW, gain_t_per_ha=-0.8)
    plan = small.plan(herd=HERD, money={"area_ha": 20.0})
    main = verdict(small.stored(plan, DRAW, season), today=date(2025, 12, 1), version="0").methods[0]
    assert main.feed.days < 0
    assert "dry matter less after storage" in main.feed.sentences("EUR")[0]
