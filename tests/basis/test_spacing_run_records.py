"""Spacing runs as records: one unit, two readings or more, decimal points and commas."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.stand_records import SpacingRun


def run(readings, **more):
    return SpacingRun(id="r", time=small.DAY, strips="1", readings=readings, **more)


def problem_of(readings, **more):
    """Fields and sentence of what is wrong with a run."""
    with pytest.raises(ValidationError) as caught:
        run(readings, **more)
    return str(caught.value)


@pytest.mark.parametrize(
    ("readings", "more", "says"),
    [
        ("0 15 30 45", {"unit": "m"}, "the gaps look like centimetres, the unit says metres"),
        ("15 14 16", {"unit": "m", "reads": "gaps"}, "the gaps look like centimetres"),
        ("0 0.15 0.30 0.45", {}, "the gaps look like metres, the unit says centimetres"),
        ("15 14 0.16 15", {"reads": "gaps"}, "a gap looks like metres among readings in centimetres"),
        ("0 15 30 30.15 45", {}, "a gap looks like metres"),
        ("0.15 0.14 16 0.15", {"unit": "m", "reads": "gaps"}, "a gap looks like centimetres among readings in metres"),
        ("15", {}, "a lone reading says nothing about spacing"),
        ("15", {"reads": "gaps"}, "a lone reading says nothing about spacing"),
        ("0 15 30 10", {}, "the tape goes back or starts again"),
        ("0 15 -3", {}, "-3 is not a reading"),
        ("15 nan", {"reads": "gaps"}, "nan is not a reading"),
    ],
)
def test_what_cannot_be_is_said(readings, more, says):
    assert says in problem_of(readings, **more)


@pytest.mark.parametrize(
    ("readings", "more"),
    [
        ("15 0 0.4 16", {"reads": "gaps"}),  # a double: two plants from one place
        ("15 14 210 16", {"reads": "gaps"}),  # a hole of thirteen plants
        ("0 0.15 0.30 2.40", {"unit": "m"}),
        ("0 0 0", {}),
        ("0 15,5 31,2", {}),
        ("0; 14.5; 29", {}),
    ],
)
def test_what_a_field_holds_is_taken(readings, more):
    assert len(run(readings, **more).readings) >= 3


@given(st.lists(st.floats(3.1, 40.0), min_size=2, max_size=30))
def test_any_run_in_one_unit_is_taken_in_either_unit_and_never_in_the_wrong_one(gaps_cm):
    written = " ".join(f"{g:.3f}" for g in gaps_cm)
    in_metres = " ".join(f"{g / 100:.5f}" for g in gaps_cm)
    assert run(written, reads="gaps").unit == "cm"
    assert run(in_metres, reads="gaps", unit="m").unit == "m"
    assert "look like centimetres" in problem_of(written, reads="gaps", unit="m")
    assert "look like metres" in problem_of(in_metres, reads="gaps")
