"""Spacing runs of a trial by strip and method, and what a run may say."""

from fractions import Fraction

import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.observations import Records, SpacingRun
from evenground.stand.runs import method_spacings, positions_m, strip_spacings, target_gap_m

PLAN, DRAW = small.plan(), small.draw()
TWIN_GAP_CM = 100 * 2 / (9.5 * 0.75)  # 28.07 cm within each line


def run(strips, readings, n=1, **more):
    return SpacingRun(id=f"R{strips}-{n}", time=small.DAY, strips=str(strips), readings=readings, **more)


# cm within the line at 75 cm rows and, shared by two lines, at 37.5 cm: a seed company's published seed-rate table
# for maize, 95 % emergence, rows 7 and 9 plants/m2
@pytest.mark.parametrize(("plants", "single_cm", "twin_cm"), [(7, 18.1, 36.2), (9, 14.1, 28.1)])
def test_target_gap_as_printed(plants, single_cm, twin_cm):
    single, twin = small.plan().methods
    seeds = plants / 0.95
    # printed to 0.1 cm
    assert 100 * target_gap_m(single.model_copy(update={"seeds_per_m2": seeds})) == pytest.approx(single_cm, abs=0.051)
    assert 100 * target_gap_m(twin.model_copy(update={"seeds_per_m2": seeds})) == pytest.approx(twin_cm, abs=0.051)


def test_runs_of_a_strip_come_together_and_strips_are_the_unit():
    # target 14.04 cm: 30 is a miss, 3 a double
    runs = [run(1, "0 14 28 58"), run(1, "14 14 3", 2, reads="gaps"), run(4, "0 14 28 42 56")]
    strips = strip_spacings(PLAN, DRAW, Records(spacing_runs=runs))
    assert strips[0].spacing.classes == (1, 4, 1, 0, 0)
    (a,) = method_spacings(PLAN, strips)
    assert a.strips == 2
    assert a.quality_of_feed == pytest.approx((4 / 6 + 1) / 2)
    assert a.errors["quality_of_feed"] == pytest.approx(1 / 6)
    assert a.stagger is None
    assert a.as_dict()["method"] == "A"


def test_a_staggered_twin_row():
    first = " ".join(f"{TWIN_GAP_CM * i:.1f}" for i in range(20))
    second = " ".join(f"{TWIN_GAP_CM * i:.1f}" for i in range(19))
    half = round(TWIN_GAP_CM / 2, 1)
    runs = [run(2, first, 1, run="x", line=1), run(2, second, 2, run="x", line=2, offset_cm=half)]
    (strip,) = strip_spacings(PLAN, DRAW, Records(spacing_runs=runs))
    assert strip.stagger == pytest.approx(1.0, abs=1e-3)  # readings rounded to a millimetre
    assert strip.as_dict()["stagger"] == strip.stagger
    assert method_spacings(PLAN, [strip])[0].stagger == strip.stagger


def test_lines_that_do_not_belong_together_are_not_joined():
    runs = [run(2, "0 28 56 84 112 140 168", 1, run="x"), run(2, "14 42 70 98 126 154", 2, run="y", line=2)]
    assert strip_spacings(PLAN, DRAW, Records(spacing_runs=runs))[0].stagger is None


def test_positions_and_gaps_and_units():
    assert positions_m(run(1, "14 16", reads="gaps", offset_cm=2)) == (
        Fraction(2, 100),
        Fraction(16, 100),
        Fraction(32, 100),
    )
    assert positions_m(run(1, "0,14 0,3", unit="m")) == (Fraction(14, 100), Fraction(3, 10))


@pytest.mark.parametrize("text", ["14.5 29 44", "14,5 29 44", "14.5;29;44", "14.5, 29, 44", " 14.5  29\t44 "])
def test_readings_in_one_cell(text):
    assert run(1, text).readings == (14.5, 29.0, 44.0)


@pytest.mark.parametrize(
    ("readings", "more", "says"),
    [
        ("0 14 wide", {}, "wide is not a reading"),
        ("0 14 -3", {}, "-3 is not a reading"),
        ("0 14 nan", {}, "nan is not a reading"),
        ("0 14 28 3", {}, "starts again"),
        ("14", {}, "a lone reading"),
        ((0.0, float("nan")), {}, "finite"),
        ("0 14", {"unit": "ft"}, "'cm' or 'm'"),
        ("0 14", {"line": 3}, "less than or equal to 2"),
    ],
)
def test_what_is_no_run(readings, more, says):
    with pytest.raises(ValidationError, match=says):
        run(1, readings, **more)


def test_falling_gaps_are_no_fault():
    assert run(1, "14 3", reads="gaps").readings == (14.0, 3.0)


def test_no_runs():
    assert strip_spacings(PLAN, DRAW, Records()) == ()
    assert strip_spacings(PLAN, DRAW, Records(spacing_runs=[run("1+2", "0 14")])) == ()
