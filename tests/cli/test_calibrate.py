"""``evenground calibrate``: words, JSON, and what cannot be."""

from __future__ import annotations

import json

import pytest
import tomlkit
from tests import small_trial as small
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.cli.app import build

runner = CliRunner()
CONTENT = {
    "methods": [
        small.method("A", starter_kg_per_ha=150.0, speed_km_per_h=6.0),
        small.method("B", machine="pairs"),
    ],
    "machines": [
        {"id": "four", "kind": "planter", "rows": 4, "row_spacing_m": 0.75, "wheel_circumference_m": 2.0},
        {"id": "pairs", "kind": "planter", "rows": 4, "row_spacing_m": 0.75},
    ],
}


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    path = tmp_path_factory.mktemp("trials") / "piece"
    plan = small.plan(**CONTENT)
    text = tomlkit.dumps({"format": 1, **plan.model_dump(exclude_none=True, exclude_defaults=True, mode="json")})
    TrialFolder.create(path, text)  # no draw: machines are calibrated before it too
    return path


def call(trial, *words):
    arguments = ["calibrate", str(trial), *map(str, words)]
    return runner.invoke(build(arguments), arguments)


def test_both_runs_in_json(trial):
    words = ("--method", "A", "--caught-kg", 1.62, "--turns", 20, "--seeds-dug", 30, "--dug-m", 5, "--json")
    starter, seed = json.loads(call(trial, *words).stdout)["runs"]
    # 1.8 kg would be 150 kg/ha: 20 turns x 2 m x 3 m = 120 m2 (geometry)
    assert starter["found"] == pytest.approx(135.0)
    assert starter["factor"] == pytest.approx(150 / 135)
    assert (seed["what"], seed["found"]) == ("seed", 6.0)


def test_in_words(trial):
    said = call(trial, "--method", "A", "--caught-kg", 4.5, "--minutes", 1).stdout
    assert said == (
        "A, starter: 4.5 kg in 1 minute are 150 kg/ha; 150 kg/ha is wanted. Near enough: leave the setting, and run "
        "once more to be sure.\n"
    )


@pytest.mark.parametrize(
    ("words", "field", "says"),
    [
        (("--caught-kg", 1, "--minutes", 1), "--method", "which method"),
        (("--method", "C", "--caught-kg", 1, "--minutes", 1), "--method", "which method"),
        (("--method", "A"), "--caught-kg", "nothing was caught"),
        (("--method", "A", "--caught-kg", 1), "--caught-kg", "over how much"),
        (("--method", "A", "--caught-kg", 1, "--minutes", 1, "--turns", 20), "--caught-kg", "in one way"),
        (("--method", "A", "--caught-kg", 0, "--metres", 100), "--metres", "above 0"),
        (("--method", "B", "--caught-kg", 1, "--metres", 100), "--metres", "no starter"),
        (("--method", "A", "--seeds-dug", 30), "--dug-m", "which length"),
        (("--method", "A", "--seeds-dug", -3, "--dug-m", 5), "--seeds-dug", "above 0"),
    ],
)
def test_what_cannot_be_is_said(trial, words, field, says):
    done = call(trial, *words)
    assert isinstance(done.exception, InputError)
    (one,) = done.exception.problems
    assert one.field == field
    assert says in one.message
