"""``evenground check``: every problem as JSON or in words; exit status 0, 1, 2."""

from __future__ import annotations

import json
import subprocess
import sys

from tests import small_trial
from typer.testing import CliRunner

from evenground.adapters.plan_file import plan_text
from evenground.adapters.trial_folder import TrialFolder
from evenground.cli.app import build


def invoke(*words):
    return CliRunner().invoke(build(words), list(words))


def trial(tmp_path):
    folder = TrialFolder.create(tmp_path / "t", plan_text(small_trial.plan()))
    (folder.path / "records/loads.csv").write_text("id,time,strips\nL1,2025-09-09,1\n")
    (folder.path / "records/weighings.csv").write_text(
        "id;time;load;gross_kg;tare_kg\n1;2025-09-09;L1;14000,5;9000\n2;2025-09-09;L1;-5;9000\n3;2025-09-09;L1;x;9000\n"
    )
    return folder


def test_problems_have_the_keys_of_the_contract(tmp_path):
    done = invoke("check", str(trial(tmp_path).path), "--json")
    assert done.exit_code == 1
    problems = json.loads(done.stdout)["problems"]
    assert [list(p) for p in problems] == [["file", "row", "field", "given", "allowed", "message"]] * 2
    assert [(p["file"], p["row"], p["field"], p["given"]) for p in problems] == [
        ("records/weighings.csv", 3, "gross_kg", "-5"),
        ("records/weighings.csv", 4, "gross_kg", "x"),
    ]


def test_problems_in_words_and_how_numbers_were_read(tmp_path):
    folder = trial(tmp_path)
    done = invoke("check", str(folder.path))
    assert done.exit_code == 1
    assert "records/weighings.csv, line 3: gross_kg: this is outside what is possible. Given: -5." in done.stdout
    assert done.stdout.endswith("2 problems.\n")
    assert "14000,5 is read as 14 000.5 (decimal comma)" in done.stderr


def test_nothing_wrong_is_status_zero(tmp_path):
    folder = TrialFolder.create(tmp_path / "t", plan_text(small_trial.plan()))
    done = invoke("check", str(folder.path), "--json")
    assert done.exit_code == 0
    assert json.loads(done.stdout)["problems"] == []


def test_no_folder_is_status_two(tmp_path):
    call = [
        sys.executable,
        "-c",
        "from evenground.cli.app import main; main()",
        "check",
        str(tmp_path / "none"),
        "--json",
    ]
    done = subprocess.run(call, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "no such folder" in done.stderr


def test_earlier_yields_are_checked_too(tmp_path):
    folder = TrialFolder.create(tmp_path / "t", plan_text(small_trial.plan()))
    (folder.path / "earlier_yields.csv").write_text("lon,lat,value\n9.1,51.2,8.5\n9.1,51.2,9.5\n")
    done = invoke("check", str(folder.path), "--json")
    assert done.exit_code == 0
    assert "earlier yields: 2 points, values 8.5 to 9.5." in json.loads(done.stdout)["notes"]
    (folder.path / "earlier_yields.csv").write_text("lon,lat,value\n512345.5,5650000.5,8.1\n")
    (folder.path / "ground_points.geojson").write_text("{}")
    done = invoke("check", str(folder.path), "--json")
    assert done.exit_code == 1
    files = [p["file"] for p in json.loads(done.stdout)["problems"]]
    assert files == ["earlier_yields.csv", "ground_points.geojson"]
