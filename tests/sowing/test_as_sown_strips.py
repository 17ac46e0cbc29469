"""Strips as sown from the entries of the day: what counts, what is said, what joints do."""

from datetime import timedelta

import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.harvest_records import CutArea
from evenground.basis.observations import Event, MeasuredJoint, Records
from evenground.decide.allowed_orders import blocks_as_drawn
from evenground.harvest.area import cut_width_m
from evenground.harvest.happened import fate
from evenground.harvest.strips import harvest
from evenground.sowing.joints import joints_of_cut
from evenground.sowing.sown_strips import LOG_READER, in_sentences, sown_strips

PLAN, DRAW = small.plan(), small.draw()


def looked(*events, cuts=()):
    return {s.strip: s for s in sown_strips(PLAN, DRAW, Records(events=events, cut_areas=cuts))}


def entry(strip, n=1, minutes=0, **told):
    return small.event(strip, "sown", n, when=small.DAY + timedelta(minutes=minutes), **told)


def cut(**told):
    return CutArea(id="c", time=small.AUTUMN, strips="7", rows=8, length_m=200.0, **told)


def test_three_entries_of_two_passes():
    got = looked(
        entry(3, 1, 0, method="B", speed_km_per_h=7.0, stops=1, rows_off=0, seed_lot="L1"),
        entry(3, 2, 9, speed_km_per_h=8.0, stops=2, rows_off=1, seed_lot="L2"),
    )[3]
    assert (got.sown, got.entries, got.stops, got.rows_off) == ("B", 2, 3, 1)
    assert got.speed_km_per_h == pytest.approx(7.5)
    assert got.speed_sd_km_per_h == pytest.approx(0.5**0.5)  # two values 1 apart, n - 1
    assert got.seed_lots == ("L1", "L2")
    assert (got.last - got.first).total_seconds() == 540
    assert any("lots L1 and L2" in note for note in got.notes)


def test_what_nobody_wrote_is_not_zero():
    got = looked(entry(3))[3]
    assert (got.speed_km_per_h, got.speed_sd_km_per_h, got.stops, got.rows_off) == (None, None, None, None)
    assert got.seed_lots == ()


def test_a_strip_sown_otherwise_is_said_with_what_follows():
    said = in_sentences(tuple(looked(entry(7, method="A")).values()))
    assert DRAW.strip(7).method == "A"  # so this one is as drawn
    assert not any("strip 7 was drawn" in s for s in said)
    said = in_sentences(tuple(looked(entry(8, method="A")).values()))
    assert said[0] == "strip 8 was drawn B and sown A: it counts as A; its block (4) leaves the randomisation test"


def test_the_block_really_leaves_the_randomisation_test():
    season = small.whole_season(DRAW)
    wrong = small.replaced(season, events=(*season.events, entry(8, 9, 5, method="A")))
    assert [blocks_as_drawn(harvest(PLAN, DRAW, r), "B", "A") for r in (season, wrong)] == [8, 7]


def test_with_three_methods_only_their_comparisons_lose_the_block():
    draw = small.draw(("ABC", "BCA"))
    plan = small.plan(methods=[small.method(x) for x in "ABC"])
    strips = sown_strips(plan, draw, Records(events=(small.event(2, "sown", method="C"),)))
    assert "of every comparison with B or C" in in_sentences(strips)[0]


def test_strips_without_an_entry_are_named():
    said = in_sentences(tuple(looked(*[entry(s.strip) for s in DRAW.strips if s.strip not in (4, 9)]).values()))
    assert said == ("no entry for strips 4, 9: taken as sown as drawn",)


def test_a_strip_not_sown():
    got = looked(small.event(8, "not_sown"))
    assert got[8].not_sown
    said = in_sentences(tuple(got.values()))
    assert "strip 8, drawn B, was not sown; its block (4) leaves" in said[0]
    assert "8," not in said[-1].replace("18,", "")  # not also named as without an entry
    assert any("until one is corrected" in n for n in looked(small.event(8, "not_sown"), entry(8))[8].notes)


def test_two_methods_in_one_strip():
    got = looked(entry(5, 1, 0, method="A"), entry(5, 2, 9, method="B"))[5]
    assert (got.sown, got.letters) == ("B", ("A", "B"))
    assert "A and B; the later, B, counts" in got.notes[0]


@pytest.mark.parametrize("letters", ["A", "B", "AB", "BA"])
def test_the_method_that_counts_is_the_one_the_harvest_takes(letters):
    events = [entry(5, n, n, method=letter) for n, letter in enumerate(letters)]
    assert looked(*events)[5].sown == fate(DRAW.strip(5), events).method


def test_a_correction_replaces():
    got = looked(entry(5, 1, method="A", stops=4), entry(5, 2, method="B", stops=1, replaces="E5-sown-1"))[5]
    assert (got.sown, got.entries, got.stops, got.notes) == ("B", 1, 1, ())


def test_stops_told_by_log_and_by_hand_are_not_added():
    got = looked(
        entry(5, 1, stops=2, seed_lot="L1", speed_km_per_h=8.0),
        entry(5, 2, stops=3, who=LOG_READER, speed_km_per_h=7.1),
    )[5]
    assert (got.stops, got.speed_km_per_h, got.seed_lots) == (3, pytest.approx(7.1), ("L1",))


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"stops": -1}, "stops"),
        ({"stops": 1.5}, "stops"),
        ({"rows_off": 49}, "rows_off"),
        ({"speed_km_per_h": 0.0}, "speed_km_per_h"),
        ({"speed_km_per_h": 72.0}, "speed_km_per_h"),
        ({"speed_km_per_h": float("nan")}, "speed_km_per_h"),
    ],
)
def test_entries_that_cannot_be(told, field):
    with pytest.raises(ValidationError) as caught:
        entry(5, **told)
    assert caught.value.errors()[0]["loc"] == (field,)


@pytest.mark.parametrize("told", [{"seed_lot": "L1"}, {"stops": 0}, {"rows_off": 1}, {"speed_km_per_h": 8.0}])
def test_words_of_sowing_belong_to_sowing(told):
    with pytest.raises(ValidationError, match="belongs to sowing"):
        small.event(5, "harvested", **told)
    assert Event(id="e", time=small.DAY, strips="5", event="sown", **told)


# Joints: 75 cm ordered, 70 to 80 cm met (common practice, no source); the area by hand from rows and distances.
@pytest.mark.parametrize(
    ("told", "factor"),
    [
        ({"joints": "0.80"}, 6.05 / 6.0),
        ({"joints": "0.70+0.80"}, 1.0),
        ({"joints": "0.70"}, 5.95 / 6.0),
        ({"left_gap_m": 0.80, "right_gap_m": 0.80}, 6.05 / 6.0),  # half of each belongs to the cut
        ({"joints": "0.78", "left_gap_m": 0.71}, (6.0 + 0.03 - 0.02) / 6.0),
    ],
)
def test_joints_against_the_ground_the_harvest_reckons_with(told, factor):
    got = joints_of_cut(cut(**told), 0.75)
    assert got.area_factor == pytest.approx(factor, rel=1e-12)
    assert got.area_factor == pytest.approx(cut_width_m(cut(**told), 0.75) / 6.0, rel=1e-12)


def test_no_joint_measured():
    assert joints_of_cut(cut(), 0.75) is None


def test_joints_are_said_with_what_they_do():
    got = looked(entry(7), cuts=(cut(joints="0.80"),))
    assert in_sentences((got[7],)) == (
        "strip 7: 1 joint measured, mean 80 cm where 75 cm was ordered; the weighed area is 0.8 % larger than planned",
    )
    assert got[7].as_dict()["joints"]["mean_m"] == pytest.approx(0.80)


def test_strips_of_which_the_same_is_to_be_said_stand_in_one_sentence():
    joints = [MeasuredJoint(id=f"J{n}", time=small.DAY, strips=(n,), joint_m=0.80) for n in (1, 3, 4)]
    records = small.replaced(small.whole_season(small.draw()), joints=joints)
    said = [s for s in in_sentences(sown_strips(small.plan(), small.draw(), records)) if "joint" in s]
    assert said == [
        "strips 1, 3, 4, each: 1 joint measured, mean 80 cm where 75 cm was ordered; the weighed area reckons with "
        "those at the rows that are cut"
    ]
