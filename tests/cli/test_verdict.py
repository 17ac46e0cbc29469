"""evenground verdict as a process: the keys are the contract, the words are the farmer's."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

EVENGROUND = Path(sys.executable).with_name("evenground")
FORBIDDEN = re.compile(r"significan|proven|no difference", re.IGNORECASE)


def call(*words: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run([EVENGROUND, *map(str, words)], capture_output=True, text=True, timeout=120, check=False)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo, run once: folder and what it printed."""
    folder = tmp_path_factory.mktemp("demo")
    done = call("demo", folder)
    assert done.returncode == 0, done.stderr
    return folder, done.stdout


def test_the_demo_runs_the_whole_job_and_ends_by_itself(demo):
    folder, printed = demo
    for step in range(1, 7):
        assert f"[{step}/6]" in printed
    for name in ("report.pdf", "report.html", "strips.svg", "trial/strips.geojson", "trial/records/weighings.csv"):
        assert (folder / name).stat().st_size > 0
    assert "Invented trial: farm, place, season and weights are made up." in printed
    assert not FORBIDDEN.search(printed)


def test_the_demo_shows_the_three_mishaps(demo):
    _, printed = demo
    assert re.search(r"Strip \d+: the strip was lost: one row unit was blocked", printed)
    assert re.search(r"load of strip 2 at 08:47 \(trailer red\) was weighed twice", printed)
    assert len(re.findall(r"shares one dry-matter figure with strip", printed)) == 2


def test_the_demo_can_be_run_again_but_replaces_nothing_it_did_not_make(demo, tmp_path):
    folder, _ = demo
    assert call("demo", folder).returncode == 0
    (tmp_path / "trial").mkdir()
    (tmp_path / "trial" / "mine.txt").write_text("mine")
    done = call("demo", tmp_path)
    assert done.returncode == 2
    assert "did not make" in done.stderr
    assert (tmp_path / "trial" / "mine.txt").read_text() == "mine"


def test_the_keys_of_the_verdict_are_the_contract(demo):
    done = call("verdict", demo[0] / "trial", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    keys = (
        "strips blocks baseline method_means block_effects variance_components prior comparisons unit outcome outcomes"
    )
    keys += " worthwhile_gain chance_it_pays chance_it_pays_next_year advice fairness sentence"
    assert set(keys.split()) <= set(found)
    assert found["advice"]["action"] in ("adopt", "repeat", "drop", "cannot_tell")
    assert found["advice"]["reason"]
    assert (found["strips"], found["blocks"]) == (17, 9)
    one = found["comparisons"][0]
    assert one["reference_set_size"] == json.loads(call("layout", demo[0] / "trial", "--json").stdout)["allowed_orders"]
    assert one["shared_error_sd"] > 0
    assert 0 <= found["chance_it_pays"] <= 1


def test_the_verdict_can_be_computed_again_to_the_last_digit(demo):
    first, second = (json.loads(call("verdict", demo[0] / "trial", "--json").stdout) for _ in range(2))
    assert first == second
    assert set(first["provenance"]) >= {"version", "plan_hash", "records_hash", "seeds"}


def test_the_gain_at_equal_plants_is_said_beside_the_plain_one(demo):
    said = call("verdict", demo[0] / "trial").stdout
    assert "at equal plants/m2 it would be" in said
    assert "The draw protects the first figure" in said


def test_what_was_changed_after_the_draw_is_shown_as_later(demo, tmp_path):
    import shutil

    trial = tmp_path / "trial"
    shutil.copytree(demo[0] / "trial", trial)
    plan = trial / "trial.toml"
    text = plan.read_text()
    assert "value_full_year_per_t = 85" in text
    plan.write_text(text.replace("value_full_year_per_t = 85", "value_full_year_per_t = 20"))
    found = json.loads(call("verdict", trial, "--json").stdout)
    assert found["later_changes"] == ["money.value_full_year_per_t: 85.0 before, 20.0 now"]
    assert any("changed after the strips were drawn" in point for point in found["weak_points"])


def test_a_trial_without_strips_is_said(tmp_path):
    assert call("new", tmp_path / "fresh").returncode == 0
    done = call("verdict", tmp_path / "fresh")
    assert done.returncode == 2
    assert "no strips are drawn yet" in done.stderr


def test_no_folder_and_unknown_commands_exit_2(tmp_path):
    assert call("verdict", tmp_path / "nowhere").returncode == 2
    assert call("ploughing").returncode == 2
