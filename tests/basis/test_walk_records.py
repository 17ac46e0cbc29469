"""Records of the crop walk say what is wrong with them at the door."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.consistency import record_problems
from evenground.basis.observations import MineralNitrogen, Observation, Records, RootPit, Scores

JULY = datetime(2025, 7, 14, 10)
BASE: dict[str, Any] = {"id": "1", "time": JULY, "strips": "7"}


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        (Scores, {"ground_cover_percent": 0.0}),
        (Scores, {"leaf_rolling": 9, "hidden": True}),
        (Scores, {"photo": "photos/strip-7.jpg"}),
        (Scores, {"note": "deer at the edge"}),
        (Scores, {"disease": "smut", "diseased_percent": 0.0}),
        (RootPit, {"deepest_root_cm": 85.0}),
        (RootPit, {"grid_count": 0, "grid_squares": 100, "grid_square_cm": 5.0}),
        (MineralNitrogen, {"to_cm": 60.0, "mineral_n_kg_per_ha": 41.0}),
    ],
)
def test_sound_records_pass(kind: type[Observation], values: dict[str, Any]) -> None:
    assert kind.model_validate({**BASE, **values}).id == "1"


@pytest.mark.parametrize(
    ("kind", "values", "words"),
    [
        (Scores, {}, "says nothing"),
        (Scores, {"strips": "7+8", "lodged_percent": 3.0}, "strip by strip"),
        (Scores, {"ground_cover_percent": 101.0}, "100"),
        (Scores, {"ground_cover_percent": float("nan")}, "finite"),
        (Scores, {"leaf_rolling": 0}, "1"),
        (Scores, {"leaf_rolling": 10}, "9"),
        (Scores, {"diseased_percent": 3.0}, "without the disease"),
        (Scores, {"photo": "/home/x/strip.jpg"}, "inside the trial folder"),
        (Scores, {"photo": "photos/../../x.jpg"}, "inside the trial folder"),
        (Scores, {"photo": "C:\\pictures\\x.jpg"}, "inside the trial folder"),
        (RootPit, {}, "says nothing"),
        (RootPit, {"strips": "1+2", "deepest_root_cm": 80.0}, "strip by strip"),
        (RootPit, {"grid_count": 3}, "without the grid's size"),
        (RootPit, {"grid_count": 101, "grid_squares": 100}, "more squares with roots"),
        (MineralNitrogen, {"from_cm": 60.0, "to_cm": 30.0, "mineral_n_kg_per_ha": 3.0}, "swapped"),
        (MineralNitrogen, {"to_cm": 30.0, "mineral_n_kg_per_ha": -3.0}, "0"),
    ],
)
def test_faults_are_named(kind: type[Observation], values: dict[str, Any], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        kind.model_validate({**BASE, **values})


def test_all_faults_of_one_record_are_named_together() -> None:
    with pytest.raises(ValidationError) as caught:
        Scores.model_validate({**BASE, "lodged_percent": -1.0, "weeds_percent": 140.0})
    assert caught.value.error_count() == 2


def problems(**changes: Any) -> list[str]:
    score = Scores.model_validate({**BASE, "strips": "1", "lodged_percent": 3.0, **changes})
    events = [small.event(1, "sown"), small.event(1, "harvested", when=small.AUTUMN)]
    draw = small.draw(("AB",))
    return [str(p) for p in record_problems(small.plan(), draw, Records(events=events, scores=[score]))]


def test_a_score_lies_between_sowing_and_harvest() -> None:
    assert problems() == []
    assert problems(time=small.AUTUMN) == []
    assert "before the day the strip was sown" in problems(time=datetime(2025, 4, 27))[0]
    assert "after the day the strip was harvested" in problems(time=datetime(2025, 9, 10))[0]


def test_a_score_names_a_strip_of_the_draw() -> None:
    assert "there is no strip 9" in problems(strips="9")[0]
