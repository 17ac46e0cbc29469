"""The commands on a trial of the database: the same answer as on the folder, and what they store goes back into it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.cli.app import build
from evenground.web.trials.services import next_year
from evenground.web.trials.store import DatabaseStore


@pytest.fixture
def call(capsys, monkeypatch, tmp_path):
    """Run a command in this process; gives what it printed, and what it said beside."""
    monkeypatch.chdir(tmp_path)

    def run(*words: object) -> tuple[str, str]:
        said = [str(w) for w in words]
        capsys.readouterr()
        build(said)(said, standalone_mode=False)
        out = capsys.readouterr()
        return out.out, out.err

    return run


COMMANDS = ["verdict", "harvest", "stand", "season", "fairness", "settings", "sown", "layout"]


@pytest.mark.parametrize("command", COMMANDS)
def test_the_answer_is_the_same(call, demo_trial, demo_folder, command):
    in_database, _ = call(command, "--trial", demo_trial.slug, "--json")
    on_folder, _ = call(command, demo_folder, "--json")
    assert json.loads(in_database) == json.loads(on_folder)


def test_a_trial_is_found_by_what_it_is_called(call, demo_trial):
    by_name, _ = call("harvest", "--trial", demo_trial.name, "--json")
    assert by_name == call("harvest", "--trial", demo_trial.slug, "--json")[0]


def test_files_are_made_beside_the_work_and_are_the_same(call, demo_trial, demo_folder, tmp_path):
    here = json.loads(call("export", "--trial", demo_trial.slug, "--to", "geojson", "--json")[0])["files"]
    there = json.loads(call("export", demo_folder, "--to", "geojson", "--out", tmp_path / "a", "--json")[0])["files"]
    assert here == [f"{demo_trial.slug}/export/{Path(p).name}" for p in there]
    assert [(tmp_path / p).read_bytes() for p in here] == [Path(p).read_bytes() for p in there]


def test_a_draw_and_the_weather_go_into_the_database(call, demo_trial, owner, tmp_path):
    new = next_year(trial=demo_trial, by=owner)
    drawn = json.loads(call("layout", "--trial", new.slug, "--json")[0])
    stored = DatabaseStore(new).load()
    assert stored.draw.seed == drawn["seed"]
    assert [s.strip for s in stored.draw.strips] == [s["strip"] for s in drawn["strips"]]
    again, said = call("layout", "--trial", new.slug, "--json")
    assert "Drawn already" in said
    assert json.loads(again)["strips"] == drawn["strips"]
    file = tmp_path / "station.csv"
    days = [f"{new.season}-05-{day:02d},5,15,2" for day in range(1, 31)]
    file.write_text("\n".join(["day,temperature_min_c,temperature_max_c,rain_mm", *days]) + "\n", encoding="utf-8")
    _, said = call("season", "--trial", new.slug, "--weather", file, "--store")
    kept = DatabaseStore(new).load().records.weather
    assert f"{len(kept)} days of weather stored" in said
    assert len(kept) > 20
    assert new.records.first().device == "command line"
    assert "0 days of weather stored" in call("season", "--trial", new.slug, "--weather", file, "--store")[1]


def test_a_folder_laid_out_for_a_command_is_a_sound_trial_folder(demo_trial):
    with DatabaseStore(demo_trial).as_folder() as folder:
        assert TrialFolder(folder).problems() == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "say which trial"),
        (["--trial", "nobody's"], "there is no trial of this name"),
        ([".", "--trial", "x"], "are given"),
    ],
)
def test_what_is_wrong_is_said(call, demo_trial, words, says):
    with pytest.raises(InputError, match=says) as told:
        call("verdict", *words)
    if "nobody's" in words:
        assert demo_trial.slug in str(told.value)


def test_two_trials_of_one_name_are_told_apart_by_their_addresses(call, demo_trial, owner):
    new = next_year(trial=demo_trial, by=owner, name=demo_trial.name)
    with pytest.raises(InputError, match="several trials") as told:
        call("harvest", "--trial", demo_trial.name)
    assert new.slug in str(told.value)
