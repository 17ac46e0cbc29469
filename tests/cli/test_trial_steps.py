"""The commands on one trial: harvest, stand, fairness, settings."""

import json

import pytest
import tomlkit
from tests import small_trial as small
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.cli import fairness, harvest, settings, stand
from evenground.cli.app import build

runner = CliRunner()
COMMANDS = ("harvest", "stand", "fairness", "settings")


def make(path, *, drawn=True, records=True):
    plan = small.plan()
    content = plan.model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    content["format"] = 1
    folder = TrialFolder.create(path, tomlkit.dumps(content))
    if drawn:
        the_draw = small.draw()
        folder.append_draw(the_draw)
        if records:
            season = small.whole_season(the_draw)
            for kind in ("loads", "weighings", "samples", "stand_counts", "events"):
                folder.append_records(getattr(season, kind))
    return path


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    return make(tmp_path_factory.mktemp("trials") / "piece")


@pytest.fixture(scope="module")
def undrawn(tmp_path_factory):
    return make(tmp_path_factory.mktemp("trials") / "piece", drawn=False)


def call(*words):
    arguments = [str(w) for w in words]
    got = runner.invoke(build(arguments), arguments)
    assert got.exit_code == 0, got.output
    return got.stdout


KEYS = {
    "harvest": {"strips", "unit", "shared", "notes"},
    "stand": {"strips", "methods"},
    "fairness": {"checks", "total_bias_t_per_ha"},
    "settings": {"methods", "cautions"},
}
ENTRY = {
    "harvest": ("strips", {"strip", "fresh_t", "dry_matter_fraction", "outcome", "state", "notes"}),
    "stand": ("strips", {"strip", "method", "plants_per_m2"}),
    "fairness": ("checks", {"item", "state", "bias_t_per_ha", "source", "action"}),
    "settings": ("methods", {"method", "in_line_spacing_m", "kernels_per_second", "units_to_buy"}),
}


@pytest.mark.parametrize("command", COMMANDS)
def test_json_has_the_promised_keys_and_nothing_else_on_the_line(trial, command):
    got = json.loads(call(command, trial, "--json"))
    assert set(got) >= KEYS[command]
    name, keys = ENTRY[command]
    assert got[name]
    assert set(got[name][0]) >= keys


WORDS = {
    "harvest": ("t dry matter/ha", "weighed"),
    "stand": ("counted plants/m2", "strips counted"),
    "fairness": ("sowing day", "known size"),
    "settings": ("units to buy", "Take care", "local rules", "Dressed seed"),
}


@pytest.mark.parametrize("command", COMMANDS)
def test_plain_output_is_words_and_columns(trial, command):
    text = call(command, trial)
    assert all(word in text for word in WORDS[command])
    for forbidden in ("significant", "proven", "no difference"):
        assert forbidden not in text.lower()


def test_numbers_go_through_the_folder_unchanged(trial):
    got = json.loads(call("harvest", trial, "--json"))
    season = small.whole_season(small.draw())
    assert [s["fresh_t"] for s in got["strips"]] == pytest.approx([w.net_kg / 1000 for w in season.weighings])


def test_reading_changes_nothing(trial):
    before = {p: p.read_bytes() for p in trial.rglob("*") if p.is_file()}
    for command in COMMANDS:
        call(command, trial)
    assert {p: p.read_bytes() for p in trial.rglob("*") if p.is_file()} == before


@pytest.mark.parametrize("module", [harvest, stand, fairness])
def test_undrawn_trials_are_refused_in_words(undrawn, module):
    with pytest.raises(InputError, match="no strips are drawn yet"):
        module.run(undrawn)


def test_settings_can_be_asked_before_the_draw(undrawn):
    got = json.loads(call("settings", undrawn, "--json"))
    assert got["methods"][0]["units_to_buy"] is None


@pytest.mark.parametrize("module", [harvest, stand, fairness, settings])
def test_a_folder_that_is_not_there_is_named(tmp_path, module):
    with pytest.raises(InputError, match="no such folder"):
        module.run(tmp_path / "nowhere")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(command):
    assert "The trial folder" in call(command, "--help")
