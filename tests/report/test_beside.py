"""Answers beside the verdict say what they are."""

from __future__ import annotations

from dataclasses import replace

from tests.report import fixture_verdict

from evenground.compare.not_worse import NotWorse
from evenground.decide.adjusted_gain import AdjustedGain
from evenground.report.beside import beside_parts

ADJUSTED = AdjustedGain("B", "A", 16, 0.6, 0.4, 0.2, (0.05, 0.75), 0.9, 6, 0.3, 0.7, "words.")


def text(verdict):
    return " ".join(item for part in beside_parts(verdict) for item in part.items)


def test_nothing_is_said_where_there_is_nothing():
    assert beside_parts(replace_main(fixture_verdict.verdict())) == ()


def replace_main(verdict, **changes):
    return replace(verdict, methods=(replace(verdict.main, **{"adjusted": None, "not_worse": None, **changes}),))


def test_equal_plants_carry_their_interval():
    said = text(replace_main(fixture_verdict.verdict(), adjusted=ADJUSTED))
    assert "words." in said
    assert "90 % interval, 6 degrees of freedom" in said


def test_not_worse_is_answered_both_ways():
    assert "0.30 t/ha" in text(replace_main(fixture_verdict.verdict(), not_worse=NotWorse(True, -0.1, 0.3, 0.9)))
    assert "? Yes:" in text(replace_main(fixture_verdict.verdict(), not_worse=NotWorse(True, -0.1, 0.3, 0.9)))
    assert "? Not shown:" in text(replace_main(fixture_verdict.verdict(), not_worse=NotWorse(False, -0.4, 0.3, 0.9)))
