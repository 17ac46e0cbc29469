"""Two factors in the plan: the table they make, and what is no table."""

import pytest
from pydantic import ValidationError
from tests import small_trial as small
from tests import split_trial as trial

from evenground.basis.plan import Plan
from evenground.basis.record import problems_of


def problems(content):
    with pytest.raises(ValidationError) as caught:
        Plan.model_validate(content)
    return [(p.field, p.message) for p in problems_of(caught.value, file="trial.toml", model=Plan)]


def test_methods_as_a_table():
    grid = trial.plan().grid
    assert grid.letters == (("A", "B"), ("C", "D"))
    assert (grid.whole, grid.within) == ("row pattern", "seed rate")
    assert grid.whole_levels == ("single rows 75 cm", "staggered twin rows 75 cm")
    assert grid.within_levels == ("8 seeds/m2", "9.5 seeds/m2")
    assert grid.per_plot == 2


def test_the_baseline_comes_first_in_both_directions():
    content = trial.content((8.0, 9.5))
    for method in content["methods"]:
        method["baseline"] = method["letter"] == "D"
    grid = Plan.model_validate(content).grid
    assert grid.letters == (("D", "C"), ("B", "A"))
    assert grid.within_levels[0] == "9.5 seeds/m2"


def test_one_factor_makes_no_table():
    assert small.plan().grid is None


def test_the_same_pattern_on_two_machines_is_told_by_machine():
    content = trial.content()
    for method in content["methods"]:
        method["row_pattern"] = {"row_spacing_m": 0.75}
    assert Plan.model_validate(content).grid.whole_levels == ("single rows 75 cm (four)", "single rows 75 cm (pairs)")


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        (lambda c: c["factors"].update(within="none"), "factors.within", "needs both"),
        (lambda c: c["factors"].update(whole="none"), "factors.whole", "needs both"),
        (lambda c: c["methods"][3].update(seeds_per_m2=7.0), "methods", "staggered twin rows 75 cm with 9.5 seeds/m2"),
        (lambda c: c["methods"].pop(), "methods", "every row pattern must be sown at every seed rate once"),
        (lambda c: c["methods"][1].update(speed_km_per_h=9.0), "methods[1].speed_km_per_h", "may differ between"),
        (lambda c: c["methods"][1].update(strips_per_block=2), "methods[1].strips_per_block", "one strip in a block"),
        (lambda c: c["factors"].update(within="starter"), "factors.within", "does not differ"),
        (lambda c: c["factors"].update(within="depth"), "factors.within", "not one of the allowed"),
    ],
)
def test_what_is_no_table_is_said(change, field, words):
    content = trial.content(factors=dict(trial.FACTORS))
    change(content)
    found = problems(content)
    assert any(f == field for f, _ in found), found
    if words != "not one of the allowed":
        assert any(words in message for f, message in found if f == field), found


def test_all_faults_come_at_once():
    content = trial.content(factors=dict(trial.FACTORS))
    content["methods"][1]["speed_km_per_h"] = 9.0
    content["methods"][3]["seeds_per_m2"] = 7.0
    assert len(problems(content)) >= 3
