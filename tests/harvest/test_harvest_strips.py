import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests import small_trial as small

from evenground.basis.errors import InputError
from evenground.basis.observations import Records, Sample
from evenground.harvest.strips import harvest

PLAN = small.plan()
DRAW = small.draw()


def test_every_drawn_strip_is_there_and_nothing_else():
    got = harvest(PLAN, DRAW, small.whole_season(DRAW))
    assert [s.strip for s in got.strips] == list(range(1, 17))
    assert all(s.state == "weighed" and s.outcome is not None for s in got.strips)
    assert got.shared == ()
    assert got.unit == "t dry matter/ha"


def test_without_records_all_is_missing_and_says_so():
    got = harvest(PLAN, DRAW, Records())
    assert {s.state for s in got.strips} == {"missing"}
    assert all(s.outcome is None and s.fresh_t is None for s in got.strips)
    assert got.strips[6].notes == ("no load of strip 7 is recorded", "no dry-matter sample names strip 7")


@given(masses=st.lists(st.lists(st.floats(50.0, 30_000.0), min_size=1, max_size=3), min_size=4, max_size=4))
@settings(max_examples=30, deadline=None)
def test_law_all_loads_together_are_all_strips_together(masses):
    draw = small.draw(("AB", "BA"))
    loads = [small.load(s, n) for s, some in enumerate(masses, 1) for n in range(len(some))]
    weighings = [small.weighing(f"L{s}-{n}", kg) for s, some in enumerate(masses, 1) for n, kg in enumerate(some)]
    got = harvest(PLAN, draw, Records(loads=loads, weighings=weighings))
    fresh = math.fsum(s.fresh_t for s in got.strips)
    # only floating point lies between the two sums
    assert fresh == pytest.approx(math.fsum(map(math.fsum, masses)) / 1000, rel=1e-12)


def test_silage_counts_dry_matter():
    # 45 t/ha fresh at 33 % is 14.85 t/ha dry matter: worked from the University of California rule, exact
    draw = small.draw(("AB",), width=11.5, length=1000.0)  # the cut is 10 m x 1000 m = 1 ha
    records = small.whole_season(draw, tonnes={1: 45.0, 2: 45.0}, percent=33.0)
    assert harvest(PLAN, draw, records).strips[0].outcome == pytest.approx(14.85, rel=1e-12)


def test_grain_counts_at_the_stated_moisture():
    # 1000 lb at 25.5 % moisture are 881.7 lb at 15.5 %: printed in a seed company's shrink page, last digit printed
    plan = small.plan(outcome={"product": "grain", "standard_moisture_percent": 15.5})
    draw = small.draw(("AB",), width=11.5, length=1000.0)
    records = small.whole_season(draw, tonnes={1: 10.0, 2: 10.0}, percent=74.5)
    got = harvest(plan, draw, records)
    assert got.strips[0].outcome == pytest.approx(8.817, abs=0.0005)
    assert got.unit == "t grain/ha at 15.5 % moisture"


def changed(**kinds):
    """The whole season with some kinds rewritten by functions of the old ones."""
    season = small.whole_season(DRAW)
    return small.replaced(season, **{k: change(getattr(season, k)) for k, change in kinds.items()})


def strip7(records):
    return harvest(PLAN, DRAW, records).strips[6]


def without(record_id):
    return lambda rows: [r for r in rows if r.id != record_id]


def plus(*more):
    return lambda rows: [*rows, *more]


FATES = [
    # name, records, state, is there a fresh mass, words in the notes
    (
        "no weighing",
        changed(weighings=without("W-L7-1-1")),
        "missing",
        False,
        "load of strip 7 at 09:00 has no weighing",
    ),
    ("no load", changed(loads=without("L7-1")), "missing", False, "no load of strip 7 is recorded"),
    ("no sample", changed(samples=without("S7-1")), "missing", True, "no dry-matter sample names strip 7"),
    ("two strips in one trailer", changed(loads=plus(small.load("7+8"))), "missing", False, "cannot be split"),
    ("lost", changed(events=plus(small.event(7, "strip_lost", note="a blocked row"))), "lost", True, "a blocked row"),
    ("not sown", changed(events=plus(small.event(7, "not_sown"))), "not_sown", True, "the strip was not sown"),
    ("damage", changed(events=plus(small.event(7, "damage", note="boar"))), "weighed", True, "damage: boar"),
]


@pytest.mark.parametrize(("name", "records", "state", "fresh", "words"), FATES, ids=[f[0] for f in FATES])
def test_what_is_missing_stays_missing_and_says_why(name, records, state, fresh, words):
    got = strip7(records)
    assert got.state == state
    assert (got.fresh_t is not None) is fresh
    assert (got.outcome is not None) is (state == "weighed")
    assert any(words in note for note in got.notes), got.notes


def test_one_trailer_for_two_strips_leaves_both_missing_and_no_other():
    got = harvest(PLAN, DRAW, changed(loads=plus(small.load("7+8")), weighings=plus(small.weighing("L7+8-1", 9000.0))))
    assert [s.strip for s in got.strips if s.state == "missing"] == [7, 8]


def test_a_load_weighed_twice_counts_its_mean_and_says_how_far_apart():
    first = strip7(small.whole_season(DRAW))
    again = small.weighing("L7-1", first.fresh_t * 1000 + 60.0, n=2)
    records = changed(weighings=plus(again))
    got = harvest(PLAN, DRAW, records)
    assert got.strips[6].fresh_t == pytest.approx(first.fresh_t + 0.030)
    assert "weighed twice" in got.strips[6].notes[0]
    assert "60 kg apart" in got.strips[6].notes[0]
    # standard deviation of two values 60 apart: 60 / sqrt 2 = 42.4
    assert any("scatter by 42 kg" in note for note in got.notes)


def test_several_loads_of_a_strip_add_up():
    first = strip7(small.whole_season(DRAW))
    records = changed(loads=plus(small.load(7, 2)), weighings=plus(small.weighing("L7-2", 1500.0)))
    assert strip7(records).fresh_t == pytest.approx(first.fresh_t + 1.5)


def test_a_corrected_weighing_replaces_the_wrong_one():
    right = small.weighing("L7-1", 6000.0, n=2, replaces="W-L7-1-1")
    got = strip7(changed(weighings=plus(right)))
    assert got.fresh_t == pytest.approx(6.0)
    assert got.notes == ()


def test_a_weighing_follows_a_load_that_was_corrected_to_another_strip():
    # the tag said 7, the load was of strip 8: the slip still names the first tag
    records = changed(loads=plus(small.load(8, 2, replaces="L7-1")))
    before, after = harvest(PLAN, DRAW, changed()), harvest(PLAN, DRAW, records)
    assert after.strips[6].state == "missing"
    assert after.strips[7].fresh_t == pytest.approx(before.strips[6].fresh_t + before.strips[7].fresh_t)


def test_a_weighing_of_an_unknown_load_is_named_and_left_out():
    got = harvest(PLAN, DRAW, changed(weighings=plus(small.weighing("X", 5000.0))))
    assert any("names load X, which is not recorded" in note for note in got.notes)


def test_sown_with_another_method_counts_as_sown():
    got = strip7(changed(events=plus(small.event(7, "sown", n=2, method="B"))))
    assert DRAW.strip(7).method == "A"
    assert (got.method, got.drawn_method) == ("B", "A")
    assert got.notes == ("drawn for A but sown with B; it counts as sown",)


def test_a_measured_cut_counts_instead_of_the_drawn_one():
    before = strip7(changed())
    got = strip7(changed(events=plus(small.event(7, "cut_measured", length_m=150.0, width_m=4.5))))
    assert (got.cut_area_m2, got.area_source) == (675.0, "measured")
    assert got.outcome == pytest.approx(2 * before.outcome)


def test_of_two_measurements_the_later_one_counts():
    early = small.event(7, "cut_measured", n=1, when=small.AUTUMN, length_m=100.0, width_m=4.5)
    late = small.event(7, "cut_measured", n=2, when=small.AUTUMN.replace(hour=15), length_m=200.0, width_m=4.5)
    assert strip7(changed(events=plus(late, early))).cut_area_m2 == 900.0


def test_shared_sample_is_flagged_on_strips_and_listed():
    def share(rows):
        return [r for r in rows if r.strips not in {(3,), (4,)}] + [small.sample("3+4", 31.0)]

    got = harvest(PLAN, DRAW, changed(samples=share))
    assert got.strips[2].shares_sample_with == (4,)
    assert got.strips[3].shares_sample_with == (3,)
    assert got.strips[2].notes == ("shares one dry-matter figure with strip 4",)
    (figure,) = got.shared
    assert (figure.strips, figure.sd_source) == ((3, 4), "plan default")
    assert figure.dry_matter_fraction == pytest.approx(0.31)
    assert figure.sd_fraction == pytest.approx(0.01)


def test_own_sample_goes_before_a_shared_one():
    got = harvest(PLAN, DRAW, changed(samples=plus(small.sample("3+4", 20.0))))
    assert got.strips[2].dry_matter_fraction == pytest.approx(0.33)
    assert got.shared == ()


def test_a_shared_figure_counts_only_the_strips_that_were_weighed():
    def share(rows):
        return [r for r in rows if r.strips not in {(3,), (4,)}] + [small.sample("3+4", 31.0)]

    records = changed(samples=share, events=plus(small.event(4, "strip_lost")))
    assert harvest(PLAN, DRAW, records).shared == ()


def test_oven_masses_and_percent_agree():
    # (wet - dry) / wet is the moisture: University of Missouri extension, exact
    oven = Sample(id="O", time=small.AUTUMN, strips="7", wet_g=1000.0, dry_g=330.0, replaces="S7-1")
    assert strip7(changed(samples=plus(oven))).outcome == pytest.approx(strip7(changed()).outcome)


def test_all_strangers_are_named_at_once():
    records = Records(
        loads=[small.load(99)],
        samples=[small.sample("3+77", 30.0)],
        events=[small.event(1, "sown", method="Q"), small.event(55, "damage")],
    )
    with pytest.raises(InputError) as caught:
        harvest(PLAN, DRAW, records)
    found = {(p.file, p.field, p.given) for p in caught.value.problems}
    assert found == {
        ("records/loads.csv", "strips", "99"),
        ("records/samples.csv", "strips", "77"),
        ("records/events.csv", "strips", "55"),
        ("records/events.csv", "method", "Q"),
    }
    assert all(p.allowed for p in caught.value.problems)


def test_json_has_the_promised_keys():
    entry = strip7(changed()).as_dict()
    assert {"strip", "fresh_t", "dry_matter_fraction", "outcome", "state", "notes"} <= set(entry)
