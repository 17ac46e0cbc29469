"""Single cases of joining: each named in the words a farmer reads."""

from datetime import timedelta

import pytest
from tests import small_trial as small

from evenground.basis.observations import Load, Records, Weighing
from evenground.harvest.joining import join
from evenground.harvest.strips import harvest

PLAN, DRAW, T0 = small.plan(), small.draw(), small.AUTUMN


def load(n, strips, minutes, trailer="3", **changes):
    return Load(id=f"L{n}", time=T0 + timedelta(minutes=minutes), strips=str(strips), trailer=trailer, **changes)


def slip(n, minutes, trailer="3", net=6_000, **changes):
    content = {"gross_kg": 9_000 + net, "tare_kg": 9_000 + n % 7, **changes}
    return Weighing(id=f"W{n}", time=T0 + timedelta(minutes=minutes), trailer=trailer, **content)


def strips(loads, weighings, **more):
    samples = [small.sample(n, 33.0) for n in range(1, 17)]
    records = Records(loads=loads, weighings=weighings, samples=samples, **more)
    return {s.strip: s for s in harvest(PLAN, DRAW, records).strips}


def test_load_and_slip_are_joined_by_trailer_and_time_and_the_join_is_explained():
    got = join([load(1, 7, 0)], [slip(1, 25)])
    (link,) = got.links
    assert link.how == "by trailer 3 and time, 25 min after filling"
    assert got.as_data()[0]["loads"] == ["L1"]


def test_a_correction_that_names_the_load_settles_the_join():
    loads, weighings = [load(1, 7, 0), load(2, 8, 9, "4")], [slip(1, 25, trailer="")]
    before = strips(loads, weighings)
    assert {before[n].state for n in (7, 8)} == {"missing"}
    may_be = "the load of strip 7 at 09:00 (trailer 3) or the load of strip 8 at 09:09 (trailer 4)"
    assert f"slip without trailer at 09:25 may be {may_be}" in " ".join(before[7].notes)
    right = slip(2, 25, trailer="", load="L2", replaces="W1")
    after = strips(loads, [*weighings, right])
    assert (after[8].fresh_t, after[7].state) == (pytest.approx(6.0, abs=0.01), "missing")


def test_a_slip_without_a_load_keeps_the_strips_cut_then_open():
    loads = [load(1, 7, 0), load(2, 8, 60), load(3, 9, 120)]
    got = strips(loads, [slip(1, 25), slip(2, 85), slip(3, 145), slip(4, 80, trailer="5")])
    assert any(note.startswith("slip without load at 10:20, trailer 5?") for note in got[8].notes)
    assert got[8].state == "missing"


def test_a_slip_of_another_field_keeps_nothing_open():
    loads = [load(1, 7, 0), load(2, 8, 60)]
    got = strips(loads, [slip(1, 25), slip(2, 85), slip(4, 80, trailer="5", load="other")])
    assert {got[n].state for n in (7, 8)} == {"weighed"}


def test_a_load_without_a_slip_is_named_while_the_day_goes_on():
    got = strips([load(1, 7, 0), load(2, 8, 60)], [slip(1, 25)])
    assert got[7].state == "weighed"
    assert got[8].notes == ("load of strip 8 at 10:00 (trailer 3) has no weighing",)


def test_a_trailer_weighed_twice_after_one_load_is_not_guessed():
    got = strips([load(1, 7, 0)], [slip(1, 25), slip(2, 40, net=6_900)])
    assert got[7].state == "missing"
    assert "It may be this load a second time" in " ".join(got[7].notes)


def test_headland_and_opening_loads_are_weighed_but_do_not_count():
    loads = [load(1, 7, 0, part="headland"), load(2, 7, 60), load(3, 8, 120, part="opening")]
    got = strips(loads, [slip(1, 25, net=9_000), slip(2, 85, net=5_000), slip(3, 145, net=2_000)])
    assert got[7].fresh_t == pytest.approx(5.0, abs=0.01)
    assert got[8].state == "missing"


def test_two_strips_of_one_method_and_block_in_one_trailer_are_one_weighed_unit():
    draw = small.draw(("AAB", "ABB"))
    samples = [small.sample(n, 33.0) for n in range(1, 7)]
    loads = [load(1, "1+2", 0), load(2, 3, 60)]
    got = harvest(PLAN, draw, Records(loads=loads, weighings=[slip(1, 25, net=12_000), slip(2, 85)], samples=samples))
    one, two = got.strips[:2]
    assert one.outcome == two.outcome == pytest.approx(12.0 * 0.33 / 0.27, rel=1e-3)
    assert one.weighed_with == (2,)
    assert "were weighed together and count as one" in " ".join(one.notes)


def test_two_records_in_one_trailer_without_a_slip_between_are_one_filling():
    got = strips([load(1, 7, 0), load(2, 8, 6)], [slip(1, 30, net=11_000)])
    assert {got[n].state for n in (7, 8)} == {"missing"}
    both = "load of strip 7 at 09:00 (trailer 3) and load of strip 8 at 09:06 (trailer 3)"
    assert f"{both} hold strips 7 and 8 together and cannot be split between them" in got[7].notes


def test_two_loads_of_one_strip_in_one_trailer_are_its_sum():
    assert strips([load(1, 7, 0), load(2, 7, 6)], [slip(1, 30, net=8_000)])[7].fresh_t == pytest.approx(8.0, abs=0.01)


def test_a_measured_split_divides_a_load():
    got = strips([load(1, "7+8", 0, split_fraction=0.4, split_sd_fraction=0.02)], [slip(1, 25, net=10_000)])
    assert got[7].fresh_t == pytest.approx(4.0, abs=0.01)
    assert got[8].fresh_t == pytest.approx(6.0, abs=0.01)


def test_what_a_split_gives_one_strip_it_takes_from_the_other():
    records = Records(
        loads=[load(1, "7+8", 0, split_fraction=0.4, split_sd_fraction=0.02)],
        weighings=[slip(1, 25, net=10_000)],
        samples=[small.sample(n, 33.0) for n in range(1, 17)],
    )
    (error,) = harvest(PLAN, DRAW, records).common
    # 0.02 of 10 t is 0.2 t fresh, 0.066 t dry, on 0.135 ha: 0.4889 t/ha up in one strip and down in the other
    assert error.effects == (pytest.approx(0.4889, abs=0.001), pytest.approx(-0.4889, abs=0.001))


def test_a_gap_in_the_fields_own_numbers_is_a_load_not_written_down():
    loads = [load(1, 7, 0, order=1), load(3, 8, 60, order=3)]
    got = strips(loads, [slip(1, 25), slip(3, 85)])
    assert {got[n].state for n in (7, 8)} == {"missing"}
    between = "the load of strip 7 at 09:00 (trailer 3) and the load of strip 8 at 10:00 (trailer 3)"
    assert f"load number 2 is not recorded between {between}" in got[7].notes


def test_a_strip_far_from_all_others_is_asked_about_and_still_counts():
    loads = [load(n, n, 60 * n) for n in range(1, 7)]
    weighings = [slip(n, 60 * n + 25, net=3_000 if n == 4 else 6_000) for n in range(1, 7)]
    got = strips(loads, weighings)
    assert got[4].state == "weighed"
    assert "is far from the" in " ".join(got[4].notes)
    assert got[3].notes == ()


def twice(net, again=360):
    """Six strips of 6 t; strip 4 is on a load once more, later, with a mass of its own."""
    loads = [load(n, n, 60 * n) for n in range(1, 7)] + [load(9, 4, again)]
    masses = dict.fromkeys(range(1, 7), 6_000) | {9: net}
    return loads, [slip(n, (again if n == 9 else 60 * n) + 25, net=kg) for n, kg in masses.items()]


def test_a_strip_cut_twice_with_others_between_does_not_count_until_it_is_settled():
    got = strips(*twice(6_000, again=420))
    assert (got[4].state, got[4].outcome) == ("missing", None)
    assert got[4].fresh_t == pytest.approx(12.0, abs=0.05)
    assert "cut at" in got[4].notes[-1]
    assert "was a load written down for the wrong strip?" in got[4].notes[-1]
    assert all(got[n].state == "weighed" and not got[n].notes for n in (1, 2, 3, 5, 6))


def test_a_rest_of_a_strip_fetched_later_counts():
    """A small second load gives a likely yield: the strip was not finished in one go, and both loads are its own."""
    got = strips(*twice(1_800, again=420))
    assert (got[4].state, got[4].fresh_t) == ("weighed", pytest.approx(7.8, abs=0.05))


def test_a_heavy_strip_cut_in_one_go_is_only_asked_about():
    loads = [load(n, n, 60 * n) for n in range(1, 7)]
    weighings = [slip(n, 60 * n + 25, net=12_000 if n == 4 else 6_000) for n in range(1, 7)]
    got = strips(loads, weighings)
    assert got[4].state == "weighed"
    assert "is far from the" in got[4].notes[-1]


def test_whatever_the_order_of_the_lines_the_joins_are_the_same():
    loads = [load(n, n, 60 * n, trailer=str(1 + n % 2)) for n in range(1, 9)]
    weighings = [slip(n, 60 * n + 25, trailer=str(1 + n % 2), net=5_000 + n) for n in range(1, 9)]
    forward, backward = strips(loads, weighings), strips(loads[::-1], weighings[::-1])
    assert {n: s.fresh_t for n, s in forward.items()} == {n: s.fresh_t for n, s in backward.items()}


def eight(extra=(), more=()):
    """Eight strips of 6 t that scatter by two or three per cent, and loads and slips besides."""
    loads = [load(n, n, 60 * n) for n in range(1, 9)]
    weighings = [slip(n, 60 * n + 25, net=6_000 + 100 * (n % 4)) for n in range(1, 9)]
    return strips([*loads, *extra], [*weighings, *more])


@pytest.mark.parametrize(("net", "state"), [(2_800, "missing"), (1_800, "weighed")])
def test_where_strips_lie_close_together_half_a_strip_too_much_does_not_count(net, state):
    """A load of half a strip written down for strip 4 gives 1.45 of the others: no such strip is near them."""
    got = eight([load(9, 4, 540)], [slip(9, 565, net=net)])
    assert got[4].state == state
    # 60 * 4 min after nine: at one o'clock, and at six again with strips 5 to 8 between
    assert any(note.startswith("cut at 13:00 and again at 18:00, with ") for note in got[4].notes)


def test_two_machines_that_take_turns_are_not_asked():
    turns = [load(n, 1 + n % 2, 60 * n) for n in range(1, 5)]
    got = strips(turns, [slip(n, 60 * n + 25, net=3_000) for n in range(1, 5)])
    assert all(got[n].state == "weighed" and got[n].notes == () for n in (1, 2))


def test_where_strips_lie_close_together_a_third_less_is_asked_about_and_counts():
    got = eight(more=[slip(14, 60 * 4 + 25, net=4_000, replaces="W4")])
    assert got[4].state == "weighed"
    assert "was a load forgotten" in got[4].notes[-1]
    assert all(got[n].notes == () for n in (1, 2, 3, 5, 6, 7, 8))


def test_a_day_of_slips_without_a_trailer_is_said_in_few_sentences():
    """Thirty slips that fit thirty loads: nothing can be joined, and no strip gets a page of text."""
    loads = [load(n, 1 + n // 2, 9 * n, trailer=str(n % 5)) for n in range(30)]
    got = strips(loads, [slip(n, 9 * n + 15, trailer="") for n in range(30)])
    assert all(got[n].state == "missing" for n in range(1, 16))
    assert max(len(got[n].notes) for n in range(1, 16)) <= 5
    assert max(len(note) for n in range(1, 16) for note in got[n].notes) < 200
    joined = join(loads, [slip(n, 9 * n + 15, trailer="") for n in range(30)])
    assert 5 in joined.may_be_of["W9"]  # of the eleventh load: strip 5 was cut then


def test_a_night_of_slips_is_one_sentence():
    late = [load(n, n, 700 + 40 * n) for n in range(1, 11)]
    night = [slip(n, 700 + 40 * n + 25) for n in range(1, 11)]
    moved = [w.model_copy(update={"time": w.time.replace(day=T0.day)}) for w in night]
    got = join(late, moved)
    assert len(got.links) == 10
    (said,) = [note for note in got.notes if "the night after" in note]
    assert "times from" in said
