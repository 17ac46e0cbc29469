"""What cannot be sown is refused at the door: which key, what was given, what is allowed."""

from __future__ import annotations

import re

import pytest
import tomlkit
from tests import small_trial

from evenground.adapters.new_trial import template
from evenground.adapters.plan_file import change_plan_text, plan_text, read_plan
from evenground.basis.plan import Plan

FULL = {
    "seed": {"thousand_kernel_weight_g": 300.0, "lots": [{"lot": "L1"}]},
    "starter": {"nitrogen_percent": 18.0, "potash_percent": 0.0},
    "sowing": {"soil": "sandy", "soil_temperature_c": 10.0},
    "people": {
        "agreements": [
            {
                "who": "driver",
                "role": "driver",
                "methods": ["A"],
                "agrees": False,
                "words": "x",
                "said_on": "2025-02-01",
            }
        ]
    },
    "money": {},
}
TEXT = plan_text(small_trial.plan(**FULL))


def test_a_full_plan_is_read_back_as_written():
    found = read_plan(TEXT.encode())
    assert found.problems == ()
    assert found.notes == ()
    assert found.plan == small_trial.plan(**FULL)


def test_old_plans_without_the_new_keys_are_read():
    plan = small_trial.plan()
    again = Plan.model_validate({k: v for k, v in plan.model_dump().items() if k not in ("seed", "starter", "sowing")})
    assert again == plan


# key, value, what is named as allowed
REFUSED = [
    ("methods[0].speed_km_per_h", 0, "1 to 20"),
    ("methods[0].speed_km_per_h", -8, "1 to 20"),
    ("seed.thousand_kernel_weight_g", 3, "100 to 600"),
    ("methods[1].expected_emergence_fraction", 1.05, "0.3 to 1"),
    ("money.kernels_per_unit", 0, "1000 to 500000"),
    ("methods[0].seeds_per_m2", 90, "2 to 20"),
    ("methods[1].row_pattern.twin_gap_m", 0.8, "0.02 to 0.6"),
    ("sowing.soil", "stony", "one of 'sandy', 'medium' or 'heavy'"),
    ("sowing.soil_temperature_c", 283, "-10 to 45"),
    ("sowing.efficiency_fraction", 0, "above 0.05"),
    ("seed.reserve_percent", -5, "0 to 100"),
    ("machines[0].metering_limit_per_s", 0, "1 to 200"),
    ("machines[0].hopper_l", 0, "1 to 20000"),
    ("machines[0].starter_hoses", 0, "1 to 96"),
    ("machines[0].hopper", "front", "one of 'central', 'per_row' or 'per_line'"),
    ("starter.nitrogen_percent", 118, "0 to 100"),
    ("people.agreements[0].role", "neighbour", "one of 'driver', 'seller', 'lender' or 'other'"),
    ("people.agreements[0].said_on", "31.02.2025", "a date"),
]


@pytest.mark.parametrize(("key", "value", "allowed"), REFUSED)
def test_what_cannot_be_is_refused_with_key_given_and_allowed(key, value, allowed):
    found = read_plan(change_plan_text(TEXT, {key: value}).encode())
    assert found.plan is None
    (problem,) = found.problems
    assert problem.field == key
    assert problem.given == str(value)
    assert allowed in problem.allowed


def test_emergence_of_more_than_100_percent_is_named_as_it_was_given():
    text = TEXT.replace("expected_emergence_fraction = 0.93", "expected_emergence_percent = 105", 1)
    (problem,) = read_plan(text.encode()).problems
    assert problem.field == "methods[0].expected_emergence_percent"
    assert problem.given == "105"


def test_a_twin_gap_wider_than_the_centres_is_refused():
    changes = {"methods[1].row_pattern.row_spacing_m": 0.3, "methods[1].row_pattern.twin_gap_m": 0.4}
    problems = read_plan(change_plan_text(TEXT, changes).encode()).problems
    assert any(p.field.endswith("twin_gap_m") and "below 0.3" in p.allowed for p in problems)


def test_all_faults_are_said_at_once():
    changes = {"methods[0].speed_km_per_h": 0, "seed.thousand_kernel_weight_g": 3, "money.kernels_per_unit": 0}
    assert len(read_plan(change_plan_text(TEXT, changes).encode()).problems) == 3


def fault(**content):
    (problem,) = read_plan(plan_text_of(**content)).problems
    return problem


def plan_text_of(**content):
    return tomlkit.dumps({**small_trial.plan().model_dump(mode="json", exclude_none=True), **content}).encode()


def test_a_lot_that_does_not_go_to_every_method_is_refused():
    trial = {"name": "t", "season": 2025, "seed_lots": 2}
    got = fault(trial=trial, seed={"lots": [{"lot": "L1"}, {"lot": "L2", "methods": ["B"]}]})
    assert got.field == "seed.lots[1].methods"
    assert "would not go to A" in got.message
    both = plan_text_of(trial=trial, seed={"lots": [{"lot": "L1", "methods": ["A", "B"]}, {"lot": "L2"}]})
    assert read_plan(both).problems == ()


def test_lots_named_and_lots_counted_must_agree():
    got = fault(seed={"lots": [{"lot": "L1"}, {"lot": "L2"}]})
    assert (got.field, got.given, got.allowed) == ("trial.seed_lots", "1", "2")


def test_a_lot_named_twice_and_a_method_that_is_not_there():
    trial = {"name": "t", "season": 2025, "seed_lots": 2}
    assert fault(trial=trial, seed={"lots": [{"lot": "L1"}, {"lot": "L1"}]}).field == "seed.lots[1].lot"
    got = fault(people={"agreements": [{"who": "d", "role": "driver", "methods": ["C"], "agrees": True}]})
    assert (got.field, got.given) == ("people.agreements[0].methods", "C")


def test_a_fertiliser_of_more_than_itself_is_refused():
    got = fault(starter={"nitrogen_percent": 60.0, "potash_percent": 60.0})
    assert got.field == "starter.potash_percent"
    assert got.given == "120"


def test_units_of_other_regions():
    text = TEXT.replace("thousand_kernel_weight_g = 300.0", "thousand_kernel_weight_lb = 0.6613867865546327")
    assert read_plan(text.encode()).plan.seed.thousand_kernel_weight_g == pytest.approx(300.0)
    text = TEXT.replace("soil_temperature_c = 10.0", "soil_temperature_f = 50")
    assert read_plan(text.encode()).plan.sowing.soil_temperature_c == pytest.approx(10.0)


def uncommented(text: str, section: str) -> str:
    """The lines of a section of the template with its suggestions taken out of their comments."""
    part = text.split(f"\n[{section}]\n")[1].split("\n\n", maxsplit=1)[0]
    lines = [line.removeprefix("# ") for line in part.splitlines() if " = " in line or "[[" in line]
    return "\n".join(line for line in lines if re.match(r"[a-z_]+ = |\[\[", line))


@pytest.mark.parametrize("section", ["seed", "starter", "sowing"])
def test_suggestions_of_the_template_can_be_taken_up_as_they_stand(section):
    text = uncommented(template(2026), section)
    assert len(text.splitlines()) >= 5
    found = read_plan(f"{TEXT.split('[seed]')[0]}\n[{section}]\n{text}\n".encode())
    assert found.problems == ()
    assert found.notes == ()
    assert getattr(found.plan, section) != getattr(small_trial.plan(), section)
