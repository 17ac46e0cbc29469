from dataclasses import replace

import pytest

from evenground.basis.plan import AdviceSection
from evenground.decide.advice import RULES, Facts, advise, amount, bias_could_turn_it, in_hundred

GOOD = Facts(
    gain=0.8, worthwhile_gain=0.3, expected_net=40.0, chance_of_loss=0.1, blocks=8, randomised=True, bias=(0.0, 0.0),
    value_of_another_year=100.0, cost_of_another_year=400.0, currency="EUR",
)  # fmt: skip
LIMITS = AdviceSection()

# what is changed from a clear case, the advice, the limit that decided, a word of the reason
TABLE = [
    ({}, "adopt", "advice.largest_chance_of_loss", "10 in 100"),
    ({"chance_of_loss": 0.2}, "adopt", "advice.largest_chance_of_loss", "within the limit"),
    ({"chance_of_loss": 0.2001}, "drop", "advice.largest_chance_of_loss", "above this farm's limit"),
    ({"chance_of_loss": 0.21, "value_of_another_year": 900.0}, "repeat", "money.trial_cost_per_year", "900 EUR"),
    ({"value_of_another_year": 900.0}, "adopt", "advice.largest_chance_of_loss", "leave 40 EUR"),  # sure enough already
    ({"expected_net": -5.0, "chance_of_loss": 0.6}, "drop", "money.trial_cost_per_year", "not expected to pay"),
    ({"expected_net": 0.0, "chance_of_loss": 0.0}, "drop", "money.trial_cost_per_year", "not expected to pay"),
    (
        {"expected_net": -5.0, "chance_of_loss": 0.6, "value_of_another_year": 401.0},
        "repeat", "money.trial_cost_per_year", "401 EUR",
    ),
    (
        {"expected_net": -5.0, "chance_of_loss": 0.6, "value_of_another_year": 400.0},
        "drop", "money.trial_cost_per_year", "only about 400 EUR",
    ),
    ({"blocks": 3}, "adopt", "advice.largest_chance_of_loss", ""),
    ({"blocks": 2}, "cannot_tell", "advice.fewest_blocks", "only 2 blocks have"),
    ({"blocks": 1}, "cannot_tell", "advice.fewest_blocks", "only 1 block has"),
    ({"randomised": False}, "cannot_tell", "drawn order", "no block was sown as drawn"),
    ({"bias": (-0.9, 0.4)}, "adopt", "advice.largest_chance_of_loss", ""),  # 0.4 is less than the 0.5 in between
    ({"bias": (0.0, 0.6)}, "cannot_tell", "possible bias", "only 0.5 t lie between"),
    ({"gain": 0.1, "bias": (-0.1, 0.9), "expected_net": -1.0}, "drop", "money.trial_cost_per_year", ""),
    ({"gain": 0.1, "bias": (-0.3, 0.0), "expected_net": -1.0}, "cannot_tell", "possible bias", ""),
    ({"randomised": False, "blocks": 1, "bias": (-9.0, 9.0)}, "cannot_tell", "drawn order", ""),  # the first speaks
]  # fmt: skip


@pytest.mark.parametrize(("changes", "action", "deciding", "words"), TABLE)
def test_advice(changes, action, deciding, words):
    got = advise(replace(GOOD, **changes), LIMITS)
    assert (got.action, got.deciding) == (action, deciding)
    assert words.lower() in got.reason.lower()
    assert got.reason[0].isupper()
    assert got.reason.endswith(".")


def test_limits_can_be_changed():
    strict = AdviceSection(largest_chance_of_loss=0.05, fewest_blocks=10)
    assert advise(GOOD, strict).deciding == "advice.fewest_blocks"
    assert advise(replace(GOOD, blocks=10), strict).action == "drop"


def test_every_rule_of_the_table_has_the_first_word_somewhere():
    cases = [replace(GOOD, **changes) for changes, *_ in TABLE]
    first = {next(rule for rule in RULES if rule(case, LIMITS)) for case in cases}
    assert first == set(RULES)


BIAS = [
    (0.6, 0.4, (0.0, 0.0), False),
    (0.6, 0.4, (0.0, 0.19), False),
    (0.6, 0.4, (0.0, 0.21), True),
    (0.6, 0.4, (-5.0, 0.0), False),  # it can only have hidden more
    (0.2, 0.4, (-0.21, 0.0), True),
    (0.2, 0.4, (0.0, 5.0), False),
    (0.2, float("inf"), (-5.0, 5.0), False),  # nothing can make it pay
    (0.2, float("-inf"), (-5.0, 5.0), False),
]


@pytest.mark.parametrize(("gain", "must", "bias", "expected"), BIAS)
def test_bias_counts_only_in_the_direction_that_could_turn_it(gain, must, bias, expected):
    assert bias_could_turn_it(gain, must, bias) is expected


@pytest.mark.parametrize(("chance", "words"), [(0.004, "less than 1"), (0.2, "20 in 100"), (0.999, "more than 99")])
def test_chances_are_counted(chance, words):
    assert in_hundred(chance).startswith(words)


@pytest.mark.parametrize(
    ("money", "text"), [(0.4, "0 EUR"), (-0.4, "0 EUR"), (-12.6, "-13 EUR"), (12345.6, "12\u202f346 EUR")]
)
def test_amounts_do_not_pretend(money, text):
    assert amount(money, "EUR") == text
