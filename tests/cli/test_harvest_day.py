"""``evenground harvest`` on a day that is not over and not clean: faulty lines are named, the rest is computed."""

import json

import pytest
import tomlkit
from tests import small_trial as small
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.cli.app import build

runner = CliRunner()
WEIGHED = "id,time,scale,slip,trailer,gross_kg,tare_kg\n"


@pytest.fixture
def folder(tmp_path):
    content = small.plan().model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    content["format"] = 1
    made = TrialFolder.create(tmp_path / "piece", tomlkit.dumps(content))
    made.append_draw(small.draw())
    made.append_records([small.sample(n, 33.0) for n in range(1, 17)])
    return made


def write(folder, kind, text):
    (folder.path / f"records/{kind}.csv").write_text(text, encoding="utf-8")


def call(folder, *words):
    arguments = ["harvest", str(folder.path), *words]
    return runner.invoke(build(arguments), arguments)


def loads(*rows):
    return "id,time,strips,trailer\n" + "".join(f"L{n},2025-09-09T{t},{s},{k}\n" for n, t, s, k in rows)


def slips(*rows):
    return WEIGHED + "".join(f"W{n},2025-09-09T{t},yard,{100 + n},{k},{g},{e}\n" for n, t, k, g, e in rows)


def test_a_slip_without_load_is_asked_as_a_farmer_would(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1), (2, "14:05", 7, 2), (3, "15:00", 8, 1)))
    write(
        folder,
        "weighings",
        slips(
            (1, "13:25", 1, 14000, 8000),
            (2, "14:30", 2, 14000, 8100),
            (3, "14:32", 3, 15000, 8900),
            (4, "15:25", 1, 14000, 8010),
        ),
    )
    got = call(folder)
    assert got.exit_code == 0, got.output
    assert "Strip 7: slip without load at 14:32, trailer 3?\n" in got.stdout
    assert "Strip 16: no load of strip 16 is recorded." in got.stdout


def test_joins_are_shown_with_their_reason_and_how_to_correct_them(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1)))
    write(folder, "weighings", slips((1, "13:25", 1, 14000, 8000)))
    text = call(folder, "--joins").stdout
    assert "by trailer 1 and time, 25 min after filling" in text
    assert "gross minus tare" in text
    assert "To correct a join" in text
    assert "To correct a join" not in call(folder).stdout


def test_faulty_lines_are_named_and_the_rest_of_the_day_is_computed(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1), (2, "14:05", 7, 2), (3, "15:00", 99, 1)))
    write(
        folder,
        "weighings",
        slips((1, "13:25", 1, 14000, 8000), (2, "14:30", 2, 7000, 8100)),
    )
    got = call(folder, "--json")
    assert got.exit_code == 0, got.output
    data = json.loads(got.stdout)
    state = {s["strip"]: s["state"] for s in data["strips"]}
    assert (state[6], state[7]) == ("weighed", "missing")
    assert {(p["file"], p["row"]) for p in data["problems"]} == {("records/weighings.csv", 3), ("records/loads.csv", 4)}
    assert "swapped" in got.stderr


def test_strips_of_an_unreadable_load_stay_missing(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1), (2, "25:05", 6, 2)))
    write(folder, "weighings", slips((1, "13:25", 1, 14000, 8000)))
    strip = json.loads(call(folder, "--json").stdout)["strips"][5]
    assert strip["state"] == "missing"
    assert "could not be read" in " ".join(strip["notes"])


def test_a_file_that_is_no_table_and_a_broken_plan_are_refused(folder):
    write(folder, "loads", "time;strips\n2025-09-09;1\n")
    got = call(folder)
    assert got.exit_code != 0


def test_json_carries_joins_errors_and_samples(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1)))
    write(folder, "weighings", slips((1, "13:25", 1, 14000, 8000)))
    data = json.loads(call(folder, "--json").stdout)
    assert data["joins"][0] == {
        "loads": ["L1"],
        "weighing": "W1",
        "net_kg": 6000.0,
        "how": "by trailer 1 and time, 25 min after filling",
        "mass": "gross minus tare",
        "fault": "",
        "doubts": [],
    }
    assert data["common_errors"] == []
    assert data["samples_wanted"]["per_strip"] >= 1


@pytest.mark.parametrize(("cell", "words"), [("330", "per mille"), ("0.33", "fraction"), ("-33", "outside")])
def test_dry_matter_that_cannot_be_is_asked_and_others_stay(folder, cell, words):
    path = folder.path / "records/samples.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    column = lines[0].split(",").index("dry_matter_percent")
    cells = lines[7].split(",")
    cells[column] = cell
    path.write_text("\n".join([*lines[:7], ",".join(cells), *lines[8:]]) + "\n", encoding="utf-8")
    write(folder, "loads", loads((1, "13:00", 6, 1), (2, "14:00", 7, 1)))
    write(folder, "weighings", slips((1, "13:25", 1, 14000, 8000), (2, "14:25", 1, 14000, 8010)))
    got = call(folder, "--json")
    state = {s["strip"]: s["state"] for s in json.loads(got.stdout)["strips"]}
    assert (state[6], state[7]) == ("weighed", "missing")
    assert words in got.stderr
