from datetime import date, timedelta

import numpy as np
import pytest
from tests.season.invented_weather import weather, years

from evenground.basis.season_plan import SeasonSection
from evenground.basis.season_tables import earliness_groups
from evenground.season.agenda import agenda
from evenground.season.alike import same_heat
from evenground.season.daily import bridged
from evenground.season.heat_ahead import earlier_years, heat_ahead, same_days
from evenground.season.stages import flowering_window, heat_needs, leaf_collars, stages

SOWN = date(2025, 4, 28)
EARLY = earliness_groups()["early"]
# Days of 10 and 22 deg C give 10 degree days base 6 and 6 of base 10 to 30, ripple of 0.05 aside.
WARM = weather(date(2025, 4, 1), 200, low=10.0, high=22.0)


def of(found, stage):
    return next(s for s in found if s.stage == stage)


def test_stages_of_a_season_that_is_over():
    found = stages("A", SOWN, WARM, EARLY, None)
    # by hand: 825 / 10.05 = 82.1 and 870 / 10.05 = 86.6 days, sowing day being day 1
    assert of(found, "flowering").first == SOWN + timedelta(days=82)
    assert of(found, "flowering").last == SOWN + timedelta(days=86)
    assert of(found, "flowering").state == "passed"
    # 55.6 / 6.05 and 66.7 / 6.05: day 10 and day 12
    assert of(found, "emergence").first == SOWN + timedelta(days=9)
    assert of(found, "emergence").last == SOWN + timedelta(days=11)
    assert flowering_window(found) == (SOWN + timedelta(days=70), SOWN + timedelta(days=105))
    assert flowering_window(()) is None


def test_each_method_from_its_own_sowing():
    a, b = (stages("A", SOWN + timedelta(days=d), WARM, EARLY, None) for d in (0, 7))
    assert of(b, "silage").first - of(a, "silage").first == timedelta(days=7)


def test_without_needs_only_the_leaves_are_said():
    assert [s.stage for s in stages("A", SOWN, WARM, None, None)] == ["emergence", "three_leaves"]


def test_the_table_agrees_with_the_gap_from_silking_to_silage():
    # The same source gives 550 to 700 degree days from silking to 32-33 % dry matter; its table 550 to 690.
    for row in earliness_groups().values():
        assert row.silage[0] - row.flowering[0] >= 550
        assert row.silage[1] - row.flowering[1] <= 700


# GDD F since sowing -> leaf collars: the published example (785 -> V8), and by hand 82 a leaf to V10, then 50
LEAVES = [(785, 8), (115, 0), (50, 0), (115 + 82, 1), (115 + 820, 10), (115 + 820 + 49, 10), (115 + 820 + 51, 11)]


@pytest.mark.parametrize(("heat", "leaves"), LEAVES)
def test_leaf_collars(heat, leaves):
    assert leaf_collars(heat / 1.8 + 0.01) == leaves


def test_own_heat_needs_go_before_the_group():
    both = heat_needs(
        SeasonSection(earliness_group="late", flowering_heat_sum=(800, 850), silage_heat_sum=(1400, 1450))
    )
    assert (both.flowering, both.silage, both.source) == ((800, 850), (1400, 1450), "the farm's own sums")
    one = heat_needs(SeasonSection(earliness_group="early", flowering_heat_sum=(800, 850)))
    assert (one.flowering, one.silage) == ((800, 850), EARLY.silage)
    assert heat_needs(SeasonSection(flowering_heat_sum=(800, 850))) is None
    assert heat_needs(SeasonSection(earliness="S 250")) is None


def test_dates_ahead_come_from_earlier_years_with_a_range():
    long = years(2010, 2025)
    so_far = bridged(long.part(date(2025, 1, 1), date(2025, 6, 15)))
    ahead = heat_ahead(so_far, long, 2025)
    assert ahead.source == "weather of 15 earlier years, 2010 to 2024"
    found = stages("A", SOWN, so_far, EARLY, ahead)
    silage = of(found, "silage")
    assert silage.state == "ahead"
    assert silage.first < silage.last
    # the years have 8.05 to 13.65 degree days a day; the earliest date comes from the warm ones
    so_far_heat = 14.05 * 49
    assert (silage.first - so_far.last).days == pytest.approx((1390 - so_far_heat) / 13.25, abs=3)
    assert (silage.last - so_far.last).days == pytest.approx((1470 - so_far_heat) / 8.45, abs=5)


def test_without_earlier_years_the_last_weeks_are_carried_on():
    so_far = bridged(WARM.part(WARM.first, date(2025, 6, 15)))
    ahead = heat_ahead(so_far, so_far, 2025)
    assert "last 14 days carried on" in ahead.source
    flowering = of(stages("A", SOWN, so_far, EARLY, ahead), "flowering")
    # by hand: 49 days of 10.05 so far; the rest at 12.06 and at 8.04 a day
    assert flowering.first == so_far.last + timedelta(days=int(np.ceil((825 - 49 * 10.05) / 12.06)))
    assert flowering.last == so_far.last + timedelta(days=int(np.ceil((870 - 49 * 10.05) / 8.04)))


def test_a_cold_season_does_not_reach_the_stage():
    cold = weather(date(2025, 4, 1), 60, low=4.0, high=10.0)
    found = stages("A", SOWN, cold, EARLY, heat_ahead(cold, None, 2025))
    assert of(found, "silage").state == "not reached"
    assert of(found, "silage").middle is None


def test_a_gap_that_is_not_bridged_leaves_the_stage_open():
    holed = weather(date(2025, 4, 1), 120)
    holed.values["temperature_max_c"][40:] = np.nan
    assert of(stages("A", SOWN, holed, EARLY, None), "flowering").first is None
    assert heat_ahead(holed, None, 2025) is None


def test_sowing_after_the_last_day_known():
    short = WARM.part(WARM.first, date(2025, 4, 20))
    found = stages("A", SOWN, short, EARLY, heat_ahead(short, None, 2025))
    assert of(found, "emergence").first > SOWN
    assert of(found, "emergence").state == "ahead"


def test_same_calendar_day_beside_same_heat():
    got = same_heat({"A": SOWN, "B": SOWN + timedelta(days=6)}, "A", WARM, date(2025, 7, 31))[0]
    # by hand: six days of 10.05 behind; A had B's heat six days before
    assert got.heat_baseline - got.heat == pytest.approx(6 * 10.05, abs=0.2)
    assert got.days_apart == 6
    assert "B was 60 degree days behind A; A had the same heat 6 days before" in got.sentence
    assert same_heat({"A": SOWN, "B": SOWN}, "A", WARM, date(2025, 7, 31))[0].days_apart == 0
    assert same_heat({"B": SOWN}, "A", WARM, date(2025, 7, 31)) == ()


def test_same_heat_with_a_gap_says_so():
    holed = weather(date(2025, 4, 1), 120)
    holed.values["temperature_min_c"][60] = np.nan
    got = same_heat({"A": SOWN, "B": SOWN}, "A", holed, date(2025, 7, 20))[0]
    assert got.heat is None
    assert "temperatures are missing" in got.sentence


def test_calendar_days():
    assert same_days(date(2024, 2, 29), 2023) == date(2023, 2, 28)
    assert earlier_years(years(2020, 2022), 2022) == (2020, 2021)
    assert earlier_years(None, 2022) == ()


def test_the_agenda_moves_with_the_heat():
    sown = {"A": SOWN, "B": SOWN + timedelta(days=7)}
    found = tuple(s for m, d in sown.items() for s in stages(m, d, WARM, EARLY, None))
    tasks = {t.key: t for t in agenda(found, sown, "silage")}
    # from the first method's first day to the last method's last day
    assert tasks["count"].first == of(found[:4], "three_leaves").first
    assert tasks["count"].last == of(found[4:], "three_leaves").last
    assert tasks["cover"].first == SOWN + timedelta(days=42)
    assert tasks["dry_matter"].first == tasks["harvest"].first - timedelta(days=7)
    assert list(tasks)[-1] == "harvest"
    assert "silage gas" in tasks["harvest"].why
    assert "re-entry" in tasks["cover"].why


def test_the_agenda_without_weather_has_no_dates_but_every_task():
    tasks = agenda((), {}, "grain")
    assert {t.first for t in tasks} == {None}
    assert "harvest" not in {t.key for t in tasks}
    assert {"count", "depth", "cover", "cobs", "lodging", "photo_flowering"} <= {t.key for t in tasks}
