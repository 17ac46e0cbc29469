import pytest
from tests import small_trial as small

from evenground.decide.strip_values import as_strip_values, dry_matter_values, fresh_values, stand_values
from evenground.harvest.strips import harvest
from evenground.stand.plants import stand

PLAN, DRAW = small.plan(), small.draw()


def share(*pairs):
    """The season with one sample for each group of strips instead of their own."""
    season = small.whole_season(DRAW)
    gone = {s for pair in pairs for s in pair}
    samples = [r for r in season.samples if r.strips[0] not in gone]
    samples += [small.sample("+".join(map(str, pair)), 33.0) for pair in pairs]
    return small.replaced(season, samples=samples)


def lose(records, *strips):
    return small.replaced(records, events=[*records.events, *(small.event(s, "strip_lost") for s in strips)])


def test_one_value_a_weighed_strip_as_sown():
    records = lose(small.whole_season(DRAW), 5)
    records = small.replaced(records, events=[*records.events, small.event(1, "sown", n=2, method="B")])
    got = as_strip_values(harvest(PLAN, DRAW, records))
    assert got.strips == tuple(str(n) for n in range(1, 17) if n != 5)
    assert got.methods[0] == "B"
    assert got.blocks[:4] == ("1", "1", "2", "2")
    assert got.shared == ()


def test_a_shared_figure_enters_each_strip_as_its_own_effect():
    came_off = harvest(PLAN, DRAW, share((1, 4)))
    got = as_strip_values(came_off)
    (error,) = got.shared
    assert error.strips == ("1", "4")
    # one point of dry matter at 33 % is 1/33 of the yield
    assert error.effect_sd == pytest.approx([came_off.strips[0].outcome / 33, came_off.strips[3].outcome / 33])
    assert "strips 1, 4" in error.label


def test_the_effect_is_the_change_of_the_outcome():
    # law: adding one standard deviation to the figure moves every strip by its effect
    grain = small.plan(outcome={"product": "grain", "standard_moisture_percent": 14.0})
    records = share((1, 4))
    error = as_strip_values(harvest(grain, DRAW, records)).shared[0]
    moved = [r.model_copy(update={"dry_matter_percent": 34.0}) if len(r.strips) > 1 else r for r in records.samples]
    before, after = harvest(grain, DRAW, records), harvest(grain, DRAW, small.replaced(records, samples=moved))
    change = [after.strips[i].outcome - before.strips[i].outcome for i in (0, 3)]
    assert change == pytest.approx(error.effect_sd)


def test_side_outcomes_leave_lost_strips_out():
    came_off = harvest(PLAN, DRAW, lose(small.whole_season(DRAW), 5, 6))
    assert len(fresh_values(came_off).strips) == 14
    assert len(dry_matter_values(came_off).strips) == 14
    assert set(dry_matter_values(came_off).outcome) == {33.0}


def test_fresh_mass_is_per_hectare():
    came_off = harvest(PLAN, DRAW, small.whole_season(DRAW))
    assert fresh_values(came_off).outcome[0] == pytest.approx(came_off.strips[0].outcome / 0.33)


def test_a_strip_without_a_sample_still_counts_fresh():
    season = small.whole_season(DRAW)
    came_off = harvest(PLAN, DRAW, small.replaced(season, samples=season.samples[1:]))
    assert "1" in fresh_values(came_off).strips
    assert "1" not in as_strip_values(came_off).strips
    assert "1" not in dry_matter_values(came_off).strips


def test_shared_dry_matter_in_points():
    (error,) = dry_matter_values(harvest(PLAN, DRAW, share((1, 4)))).shared
    assert error.effect_sd == pytest.approx([1.0, 1.0])


def test_stand_values_are_the_counted_strips():
    season = small.whole_season(DRAW)
    some = small.replaced(season, stand_counts=season.stand_counts[:5])
    assert len(stand_values(stand(PLAN, DRAW, some)).strips) == 5
