"""Starter: what must come out, and the published limits near the seed with their disagreement."""

import pytest
from tests import small_trial as small

from evenground.sowing import starter
from evenground.sowing.starter import placement_of, published_limits, starter_settings

INCH_M = 0.0254
LB_PER_AC = 1.120851  # kg/ha; exact by definition of pound and acre to the digits written


def test_no_spacing_no_limit():
    for bad in (0.0, -1.0, float("nan")):
        with pytest.raises(ValueError, match="must be above 0"):
            published_limits("with the seed", bad, sandy=True)


# Kansas State University Extension (Ruiz Diaz), starter placement, table 1: row spacing [in], N + K2O with the seed on
# medium to fine and on sandy soil [lb/ac], and the same in kg/ha, printed to a tenth.
KANSAS = [(40, 6, 4, 6.7, 4.5), (30, 8, 6, 9.0, 6.7), (20, 12, 8, 13.4, 9.0)]


def one(limits, source):
    return next(x.salts_kg_per_ha for x in limits if x.source == source)


@pytest.mark.parametrize(("inches", "fine", "sand", "fine_kg", "sand_kg"), KANSAS)
def test_kansas_table(inches, fine, sand, fine_kg, sand_kg):
    for sandy, pounds, kg in ((False, fine, fine_kg), (True, sand, sand_kg)):
        got = one(published_limits("with the seed", inches * INCH_M, sandy=sandy), starter.KANSAS)
        assert got == pytest.approx(pounds * LB_PER_AC, rel=1e-6)
        assert got == pytest.approx(kg, abs=0.051)  # half of the last digit; 12 lb are 13.4502, printed 13.4


def test_between_two_spacings_the_one_that_allows_less_is_taken():
    at = {cm: one(published_limits("with the seed", cm / 100, sandy=False), starter.KANSAS) for cm in (50, 60, 75, 90)}
    assert at[50] == pytest.approx(12 * LB_PER_AC, rel=1e-6)
    assert at[60] == at[75] == pytest.approx(8 * LB_PER_AC, rel=1e-6)
    assert at[90] == pytest.approx(6 * LB_PER_AC, rel=1e-6)
    # wider than the table: the same load on a metre of band
    wide = one(published_limits("with the seed", 80 * INCH_M, sandy=False), starter.KANSAS)
    assert wide == pytest.approx(3 * LB_PER_AC, rel=1e-6)


def test_limits_by_distance():
    # Reid (OMAFRA) 1999: 80 lb/ac (89.7 kg/ha) 2 x 2 inches away, a twelfth (7.5) with the seed.
    (far,) = published_limits("5 cm beside and below", 0.75, sandy=False)
    assert far.salts_kg_per_ha == pytest.approx(89.7, abs=0.05)
    near = [x for x in published_limits("with the seed", 0.75, sandy=False) if "Ontario" in x.source]
    assert near[0].salts_kg_per_ha == pytest.approx(7.5, abs=0.05)
    # Davidson 2015: 1 x 1 inch 10 lb/ac (11.2) on sand, 20 (22.4) on silt or clay.
    sand, clay = (published_limits("2.5 cm beside and below", 0.75, sandy=s)[0].salts_kg_per_ha for s in (True, False))
    assert (sand, clay) == (pytest.approx(11.2, abs=0.05), pytest.approx(22.4, abs=0.05))


def test_the_disagreement_is_shown_and_the_lowest_comes_first():
    # sand, with the seed, 30 inch rows: Kansas 6 lb/ac against 10 of the farm press and Penn State
    limits = published_limits("with the seed", 30 * INCH_M, sandy=True)
    assert len(limits) == 4
    assert limits[0].salts_kg_per_ha == pytest.approx(6 * LB_PER_AC, rel=1e-6)
    assert limits[-1].salts_kg_per_ha == pytest.approx(10 * LB_PER_AC, rel=1e-6)
    assert [x.salts_kg_per_ha for x in limits] == sorted(x.salts_kg_per_ha for x in limits)


def test_no_urea_with_the_seed():
    assert published_limits("with the seed", 0.75, sandy=False, urea=True)[0].salts_kg_per_ha == 0.0


PLACES = [
    ((0, 0), "with the seed"), ((2.4, 5), "with the seed"), ((2.5, 2.5), "2.5 cm beside and below"),
    ((5, 2.5), "2.5 cm beside and below"), ((5, 5), "5 cm beside and below"), ((7.5, 6), "5 cm beside and below"),
    ((None, 5), None), ((5, None), None),
]  # fmt: skip


@pytest.mark.parametrize(("place", "expected"), PLACES)
def test_a_band_is_never_held_against_a_placement_farther_away_than_it_is(place, expected):
    assert placement_of(*place) == expected


def plan(*, beside=5.0, below=5.0, hoses=None, soil="medium", rate=100.0, **content):
    machine = {"id": "four", "kind": "planter", "rows": 4, "row_spacing_m": 0.75}
    machine |= {"starter_beside_cm": beside, "starter_below_cm": below, "starter_hoses": hoses}
    return small.plan(
        methods=[small.method("A", starter_kg_per_ha=rate), small.method("B")],
        machines=[machine],
        starter={"nitrogen_percent": 18.0, "potash_percent": 2.0, **content},
        sowing={"soil": soil},
    )


def test_all_hoses_and_passes_together_give_the_rate():
    got = starter_settings(plan(hoses=8), "A", 14_400.0)
    ground_per_min = 8.0 / 0.06 * 3.0  # 8 km/h, 3 m wide [m2/min]
    assert got.kg_per_min / ground_per_min * 10_000 == pytest.approx(100.0)
    assert got.kg_per_min_per_hose * 8 == pytest.approx(got.kg_per_min)
    assert got.calibration_100_m_kg == pytest.approx(3.0)
    assert got.calibration_20_turns_kg is None
    assert got.kg_for_strips == pytest.approx(144.0 * 1.05)


def test_salts_far_enough_and_too_near():
    far = starter_settings(plan(), "A", None)
    assert far.salts_kg_per_ha == pytest.approx(20.0)
    assert "TOO NEAR" not in far.sentence
    assert far.kg_for_strips is None
    near = starter_settings(plan(beside=0.0, below=0.0), "A", None)
    assert near.sentence.startswith("TOO NEAR THE SEED")
    assert near.lowest_kg_per_ha == near.limits[0].salts_kg_per_ha
    assert "the lowest counts" in near.sentence


def test_what_is_not_said_is_not_judged():
    assert "are not said" in starter_settings(plan(nitrogen_percent=None), "A", None).sentence
    place = starter_settings(plan(beside=None), "A", None)
    assert "Where the band lies is not said" in place.sentence
    assert (place.limits, place.lowest_kg_per_ha) == ((), None)
    assert "taken as sandy" in starter_settings(plan(soil=None), "A", None).sentence


@pytest.mark.parametrize("beside", [0.0, 2.5, 5.0, None])
def test_local_rules_go_first_in_every_sentence(beside):
    assert "Local fertiliser rules go first." in starter_settings(plan(beside=beside, below=5.0), "A", None).sentence


def test_without_starter_nothing_is_said():
    assert starter_settings(plan(rate=0.0), "A", None) is None


def test_more_hoses_lie_closer_and_bear_more():
    wide, close = (starter_settings(plan(beside=0.0, below=0.0, hoses=n), "A", None) for n in (4, 8))
    assert one(close.limits, starter.KANSAS) > one(wide.limits, starter.KANSAS)
