"""A trial of two factors from the drawn strips to the verdict."""

import json
from datetime import date

import pytest
from tests import small_trial as small
from tests import split_trial as trial

from evenground.adapters.field_plan import fixed_page
from evenground.adapters.strips_file import read_strips, strips_text
from evenground.basis.errors import CannotCompareError
from evenground.cli.verdict import in_words
from evenground.compare.factor_effect import FactorEffect
from evenground.decide.factor_sentences import factor_sentences
from evenground.decide.split_trial import split_of
from evenground.decide.verdict import verdict
from evenground.decide.verdict_json import as_dict
from evenground.report.adviser_page import adviser_page
from evenground.report.document import Paragraph, Table
from evenground.report.front_page import front_page
from evenground.report.wording import LIMITS


def effect(value, interval, factor="seed rate", **changes):
    words = {"level": "9 seeds/m2", "against": "8 seeds/m2"}
    if " by " in factor:
        words = {"level": "the step from 8 to 9 in twin rows", "against": "the same step in single rows"}
    return FactorEffect(
        factor,
        **words,
        effect=value,
        standard_error=0.1,
        df=9.0,
        t=1.0,
        p=0.3,
        interval=interval,
        interval_level=0.9,
        judged_by="whole plots",
        **changes,
    )


def test_verdict_judges_each_factor_by_its_own_error():
    plan, draw = trial.plan(blocks=6), trial.draw()
    found = verdict(small.stored(plan, draw), today=date(2025, 10, 1), version="test")
    keys = as_dict(found)
    json.dumps(keys, allow_nan=False)
    assert [e["df"] for e in keys["factor_effects"]] == pytest.approx([5, 10, 10])
    assert [e["p_randomisation_exact"] for e in keys["factor_effects"]] == [True, True, None]
    assert keys["comparisons"][0]["p_randomisation"] is None
    assert len(keys["factor_sentences"]) == 3
    assert "Choose the two together" in "\n".join(in_words(found)) or "was not seen" in "\n".join(in_words(found))
    assert "whole_plot" in keys["variance_components"]
    assert {m["method"] for m in keys["methods"]} == {"B", "C", "D"}


def test_the_rate_that_is_compared_is_no_unfairness():
    """D differs from A in pattern and rate; both are asked, so nothing of it may stand between D and its advice."""
    found = verdict(small.stored(trial.plan(blocks=6), trial.draw()), today=date(2025, 10, 1), version="test")
    rates = {c.method: c for c in found.fairness if c.item == "seed rate"}
    assert {m: (c.state, c.part_of_question) for m, c in rates.items()} == {
        "B": ("differs", True),
        "C": ("alike", False),
        "D": ("differs", True),
    }
    assert not any("seed rate" in text for m in found.methods for text in m.sentences if "Weakest" in text)


def test_the_front_page_says_what_each_factor_did():
    found = verdict(small.stored(trial.plan(blocks=6), trial.draw()), today=date(2025, 10, 1), version="test")
    texts = [part.text for part in front_page(found) if isinstance(part, Paragraph)]
    assert texts[1:] == list(found.factor_sentences)


def test_one_factor_has_none_of_it():
    found = verdict(small.stored(), today=date(2025, 10, 1), version="test")
    keys = as_dict(found)
    assert not {"factor_effects", "factor_sentences"} & keys.keys()
    assert "whole_plot" not in keys["variance_components"]
    assert split_of(small.draw()) is None


def test_a_torn_draw_is_refused():
    draw = trial.draw()
    torn = draw.model_copy(update={"strips": draw.strips[1:]})
    with pytest.raises(CannotCompareError, match="do not agree"):
        split_of(torn)


def test_sentences():
    said = factor_sentences([effect(0.3, (0.1, 0.5)), effect(0.001, (-0.2, 0.2))], "t dry matter per hectare")
    assert said[0] == (
        "Seed rate: 9 seeds/m2 gave 0.3 t dry matter per hectare more than 8 seeds/m2, on average over the other "
        "factor (probably between 0.1 more and 0.5 more)."
    )
    assert "gave no t dry matter per hectare more or less than" in said[1]


@pytest.mark.parametrize(("interval", "seen"), [((-0.2, 0.8), False), ((0.1, 0.8), True), ((-0.9, -0.1), True)])
def test_factors_together_are_said_only_where_seen(interval, seen):
    (said,) = factor_sentences([effect(sum(interval) / 2, interval, "seed rate by row pattern")], "t")
    assert ("Choose the two together" in said) is seen
    assert ("was not seen" in said) is not seen


def test_the_adviser_reads_both_factors_and_both_sets_of_limits():
    found = verdict(small.stored(trial.plan(blocks=6), trial.draw()), today=date(2025, 10, 1), version="test")
    tables = [part for part in adviser_page(found) if isinstance(part, Table)]
    (factors,) = [t for t in tables if "each factor" in t.caption]
    assert [row[0] for row in factors.rows] == ["Row pattern", "Seed rate", "Seed rate by row pattern"]
    assert "(judged by whole plots)" in factors.rows[0][1]
    assert sum("Limits on" in t.caption for t in tables) == 2


def test_three_rates_are_tested_together_too():
    """Yates's two errors: 2 patterns, 3 rates, 6 blocks leave 5 and 20 degrees of freedom."""
    rates = (7.0, 8.0, 9.5)
    found = verdict(
        small.stored(trial.plan(rates, blocks=6), trial.draw(rates)), today=date(2025, 10, 1), version="test"
    )
    tests = [(t.factor, t.df, t.df_error) for t in found.comparison.factor_tests]
    assert tests == [("row pattern", 1, 5.0), ("seed rate", 2, 20.0), ("seed rate by row pattern", 2, 20.0)]
    (factors,) = [t for t in adviser_page(found) if isinstance(t, Table) and "each factor" in t.caption]
    assert "seed rate F" in factors.note
    assert "on 2 and 20.0 degrees of freedom" in factors.note


def test_the_page_fixed_before_harvest_says_how_two_factors_are_judged():
    plan, draw = trial.plan(blocks=6), trial.draw()
    page = str(fixed_page(plan, (draw,), "0" * 64))
    assert "judged by the spread of whole plots" in page
    assert page.count("Limits on both draws") == 1
    for limit in (*draw.split.limits, *draw.limits):
        assert LIMITS[limit.name].lower() in page.lower()
    assert "whole plots" not in str(fixed_page(small.plan(), (small.draw(),), "0" * 64))


def test_a_draw_of_two_factors_survives_its_file_and_a_broken_one_is_said():
    draw = trial.draw()
    text = strips_text([draw])
    again, problems = read_strips(text.encode(), "ABCD")
    assert problems == []
    assert again == (draw,)
    assert json.loads(text)["features"][0]["properties"]["whole_plot"] == 1
    torn = draw.model_copy(update={"strips": (draw.strips[0].model_copy(update={"whole_plot": 5}), *draw.strips[1:])})
    _, problems = read_strips(strips_text([torn]).encode(), "ABCD")
    assert any("whole plot" in p.message for p in problems)


def test_one_factor_writes_no_whole_plot():
    assert "whole_plot" not in json.loads(strips_text([small.draw()]))["features"][0]["properties"]
