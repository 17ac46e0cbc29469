import math
import re

import pytest
from tests import small_trial as small

from evenground.basis.outcome_plan import OutcomeSection
from evenground.compare.comparison import Priors
from evenground.decide import sentences as say
from evenground.decide.budget import budget
from evenground.decide.worth import Advice

SILAGE, GRAIN = OutcomeSection(), OutcomeSection(product="grain")

SEEN = [
    (0.62, (0.1, 1.1), SILAGE, None, "In this field, in 2025, B gave 0.6 t dry matter per hectare more than A."),
    (-0.31, (-0.6, -0.1), SILAGE, 0.9, "In this field, in 2025, B gave 0.3 t dry matter per hectare less than A."),
    (
        0.62,
        (0.1, 1.1),
        GRAIN,
        None,
        "In this field, in 2025, B gave 0.6 t grain at 15 % moisture per hectare more than A.",
    ),
    (0.04, (0.01, 0.07), SILAGE, None, "In this field, in 2025, B gave 0.04 t dry matter per hectare more than A."),
    (
        0.62, (-0.2, 1.4), SILAGE, 0.9,
        "In this field, in 2025, B gave 0.6 t dry matter per hectare more than A. This trial would have seen 0.9 t. "
        "It did not. A smaller difference may be there.",
    ),
    (
        0.001, (-0.5, 0.5), SILAGE, 0.9,
        "In this field, in 2025, B gave as much as A, to the nearest 0.01 t dry matter per hectare. This trial would "
        "have seen 0.9 t. It did not. A smaller difference may be there.",
    ),
    (1.2, (-0.1, 2.5), SILAGE, 0.9, "In this field, in 2025, B gave 1.2 t dry matter per hectare more than A."),
]  # fmt: skip


@pytest.mark.parametrize(("gain", "interval", "outcome", "detectable", "text"), SEEN)
def test_what_was_seen(gain, interval, outcome, detectable, text):
    assert say.seen("B", "A", gain, interval, outcome, 2025, detectable) == text


FAR = [
    ((-0.1, 1.3), "between 0.1 less and 1.3 more;"),
    ((0.2, 1.3), "between 0.2 and 1.3 more;"),
    ((-1.3, -0.2), "between 0.2 and 1.3 less;"),
    ((0.0, 1.3), "between nothing and 1.3 more;"),
    ((-0.4, -0.001), "between 0.4 less and nothing;"),
]


@pytest.mark.parametrize(("interval", "text"), FAR)
def test_how_far_the_truth_may_lie(interval, text):
    assert text in say.how_far(interval, 0.9)
    assert say.how_far(interval, 0.9).endswith("in about 18 of 20 trials.")


def budget_of(cost, **money):
    plan = small.plan(methods=[small.method("A"), small.method("B", extra_cost_per_ha=cost)], money=money)
    return budget(plan, plan.methods[1])


NO_VALUE = {"value_short_year_per_t": 0, "value_full_year_per_t": 0}
MUST = [
    (budget_of(50.0), "It must give 0.4 t more to pay: it costs 50 EUR more per hectare, and a tonne brings 126 EUR."),
    (budget_of(0.0), "By the costs in the plan it is no dearer than before, so any extra yield pays."),
    (budget_of(-50.0), "It saves 50 EUR per hectare, so it pays as long as it gives no more than 0.4 t less."),
    (
        budget_of(50.0, **NO_VALUE),
        "One more tonne brings nothing here, so it cannot pay its extra cost of 50 EUR per hectare.",
    ),
    (
        budget_of(-50.0, **NO_VALUE),
        "It saves 50 EUR per hectare and one more tonne brings nothing here, so it pays whatever it yields.",
    ),
]


@pytest.mark.parametrize(("cost", "text"), MUST)
def test_what_it_must_reach(cost, text):
    assert say.must_reach(cost) == text


@pytest.mark.parametrize("chance", [0.0, 0.001, 0.05, 0.3, 0.65, 0.97, 0.99, 1.0])
def test_out_of_twenty_adds_up_to_twenty(chance):
    text = say.out_of_twenty(chance, Priors())
    counts = [int(n) for n in re.findall(r"(\d+) would", text)]
    assert (sum(counts) == 20) if counts else ("hardly any" in text or "nearly all" in text)
    assert "Starting assumption" in text


def test_the_starting_assumption_is_named():
    text = say.out_of_twenty(0.65, Priors(gain_mean=0.2, gain_sd=0.45))
    assert text == (
        "Out of 20 results like this about 13 would pay and 7 would not. Starting assumption before harvest: over the "
        "years 0.2 more, give or take 0.5 t."
    )
    assert "equally likely" in say.starting_assumption(Priors())


@pytest.mark.parametrize(
    ("action", "words"),
    [("adopt", "use it"), ("repeat", "try again"), ("drop", "leave it"), ("cannot_tell", "cannot tell")],
)
def test_next_step_has_the_word_of_the_screen_and_the_reason(action, words):
    advice = Advice(action, "It is so.", "x", 0.0)
    assert say.next_step(advice) == f"Next: {words}, because it is so."
    assert say.headline(advice, "B", "twin rows").lower().startswith(words)
    assert "twin rows (B)" in say.headline(advice, "B", "twin rows")


def test_weakest_point_is_one_sentence():
    assert say.weakest("starch was not measured.") == "Weakest point: starch was not measured."


@pytest.mark.parametrize("outcome", [SILAGE, GRAIN])
def test_what_one_season_cannot_say(outcome):
    points = say.cannot_say(outcome)
    assert any("one season" in p for p in points)
    assert any("one field" in p for p in points)
    assert any("starch" in p for p in points) is (outcome is SILAGE)


def test_forbidden_words_never_appear():
    texts = [s[-1] for s in SEEN] + [m[1] for m in MUST] + list(say.cannot_say(SILAGE))
    texts += [say.headline(Advice(a, "x.", "", math.nan), "B", "n") for a in say.NEXT_STEP]
    for text in texts:
        assert not re.search(r"significan|proven|no difference", text, re.IGNORECASE)
