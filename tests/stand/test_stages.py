"""Stand at two dates, late plants apart, losses by cause."""

import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.observations import Records
from evenground.stand.plants import stand
from evenground.stand.stages import method_stages, strip_stages

PLAN, DRAW = small.plan(), small.draw()
LATE = "after_last_hoeing"


def both(strip, early, late, **more):
    return [
        small.count(strip, early, 1, stage="three_leaves", late_plants=5, **more),
        small.count(strip, late, 2, stage=LATE, lost_hoe=early - late),
    ]


def test_two_dates_by_strip_and_method():
    records = Records(stand_counts=[*both(1, 90, 86), *both(4, 94, 92)])
    one, four = strip_stages(PLAN, DRAW, records)
    assert (one.strip, four.strip) == (1, 4)
    assert one.three_leaves == pytest.approx(9.0, rel=1e-4)
    assert one.after_last_hoeing == pytest.approx(8.6, rel=1e-4)
    assert one.late_fraction == pytest.approx(5 / 90)
    # what the first count had and the second has not
    assert one.lost_per_m2["hoe"] == pytest.approx(one.three_leaves - one.after_last_hoeing, rel=1e-9)
    (method,) = method_stages(PLAN, [one, four])
    assert method.three_leaves == pytest.approx(9.2, rel=1e-4)
    assert method.errors["three_leaves"] == pytest.approx(0.2, rel=1e-4)  # half the difference of two strips
    assert method.lost_per_m2["hoe"] == pytest.approx(0.3, rel=1e-4)


def test_losses_of_one_cause_at_both_dates_add_up():
    counts = [
        small.count(1, 80, 1, lost_crows=4),
        small.count(1, 78, 2, stage=LATE, lost_crows=2, lost_boar=1),
    ]
    (one,) = strip_stages(PLAN, DRAW, Records(stand_counts=counts))
    assert one.lost_per_m2 == pytest.approx({"crows": 0.6, "boar": 0.1}, rel=1e-4)


def test_the_stand_is_that_of_three_leaves():
    got = stand(PLAN, DRAW, Records(stand_counts=both(1, 90, 70)))
    assert got.strips[0].plants_per_m2 == pytest.approx(9.0, rel=1e-4)
    assert got.notes == ()


def test_a_strip_counted_late_only_says_so():
    got = stand(PLAN, DRAW, Records(stand_counts=both(1, 90, 70)[1:]))
    assert got.strips[0].plants_per_m2 == pytest.approx(7.0, rel=1e-4)
    assert got.notes[0].startswith("strip 1 was counted only after the last hoeing")


def test_counts_while_emerging_are_no_stand():
    records = Records(stand_counts=[small.count(1, 30, stage="emerging")])
    assert stand(PLAN, DRAW, records).strips[0].plants_per_m2 is None
    assert strip_stages(PLAN, DRAW, records) == ()


def test_where_nobody_looked_for_late_plants_nothing_is_said():
    (one,) = strip_stages(PLAN, DRAW, Records(stand_counts=[small.count(1, 90)]))
    assert (one.late_fraction, one.after_last_hoeing, one.lost_per_m2) == (None, None, {})
    assert one.as_dict()["strip"] == 1


def test_more_late_plants_than_plants():
    with pytest.raises(ValidationError, match="more late plants than plants"):
        small.count(1, 4, late_plants=5)


def test_an_unknown_stage():
    with pytest.raises(ValidationError, match="three_leaves"):
        small.count(1, 4, stage="flowering")
