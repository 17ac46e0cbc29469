"""A method lost whole: the verdict itself says what can no longer be said, and what each other method still shows."""

import json
from datetime import date

import pytest
from tests import small_trial as small
from tests import split_trial as trial

from evenground.cli.verdict import in_words
from evenground.decide.verdict import verdict
from evenground.decide.verdict_json import as_dict
from evenground.report.document import Paragraph
from evenground.report.front_page import front_page

THREE = ("ABC", "BCA", "CAB", "BAC", "ACB", "CBA")


def seen(plan, draw, keep):
    """The verdict where only the strips ``keep`` says were weighed."""
    records = small.whole_season(draw)
    kept = {f"L{s.strip}-1" for s in draw.strips if keep(s)}
    loads = tuple(load for load in records.loads if load.id in kept)
    weighings = tuple(w for w in records.weighings if w.load in kept)
    left = small.replaced(records, loads=loads, weighings=weighings)
    return verdict(small.stored(plan, draw, left), today=date(2025, 10, 1), version="test")


def of_two_factors(keep):
    return seen(trial.plan(blocks=6), trial.draw(), keep)


def of_three_methods(keep):
    plan = small.plan(methods=[small.method(letter) for letter in "ABC"])
    return seen(plan, small.draw(THREE), keep)


def test_two_factors_without_one_method_are_said_in_the_verdict():
    """What B, C and D differ in is the plan's own table: B the rate, C the pattern, D both."""
    found = of_two_factors(lambda s: s.method != "D")
    (said,) = found.not_compared.values()
    assert said.startswith("Of D (way D) no strip gave a value")
    assert "the row pattern and the seed rate cannot be told apart over the whole trial" in said
    assert "B shows the seed rate alone, with" in said
    assert "C shows the row pattern alone, at" in said
    assert "both changed together" not in said
    assert found.factor_sentences == ()


def test_the_method_that_has_both_is_named_where_a_part_is_lost():
    found = of_two_factors(lambda s: s.method != "B")
    (said,) = found.not_compared.values()
    assert "D shows both changed together" in said
    assert "B shows" not in said


def test_it_stands_where_the_farmer_reads():
    found = of_two_factors(lambda s: s.method != "D")
    (said,) = found.not_compared.values()
    parts = front_page(found)
    assert parts[1].text == found.headline
    assert parts[2] == Paragraph(said)
    assert said in in_words(found)
    assert json.loads(json.dumps(as_dict(found), allow_nan=False))["not_compared"] == {"D": said}
    points = [t for t in found.weak_points if "too little of D was weighed to tell the two things compared apart" in t]
    assert len(points) == 1
    for method in found.methods:
        assert any("too little of D" in text for text in method.sentences), "its weakest point, in its own sentences"


def test_a_single_strip_left_is_not_called_none():
    found = of_two_factors(lambda s: s.method != "D" or s.block == 1)
    (said,) = found.not_compared.values()
    assert said.startswith("Of D (way D) one strip only gave a value; one strip cannot be told from its ground")
    assert "cannot be told apart" in said


def test_two_lost_methods_close_with_what_is_left_once():
    found = of_two_factors(lambda s: s.method in "AC")
    first, second = found.not_compared.values()
    assert "told apart" not in first
    assert "C shows the row pattern alone" in second
    assert any("too little of B and D was weighed" in text for text in found.weak_points)


def test_of_three_methods_the_lost_one_is_named_without_factors():
    found = of_three_methods(lambda s: s.method != "C")
    assert found.not_compared == {"C": "Of C (way C) no strip gave a value, so nothing can be said about it."}
    assert [m.comparison.method for m in found.methods] == ["B"]
    assert not any("two things" in text for text in found.weak_points)


@pytest.mark.parametrize("whole", [of_two_factors, of_three_methods])
def test_nothing_of_it_where_every_method_was_weighed(whole):
    found = whole(lambda s: s.strip != 3)
    assert found.not_compared == {}
    assert "not_compared" not in as_dict(found)
    assert not any("too little of" in text for text in found.weak_points)
