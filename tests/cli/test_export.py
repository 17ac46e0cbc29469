"""``evenground export``: every form, files where they were asked for, clear words where it cannot."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import tomlkit
from tests.adapters.export import drawn_trial as made
from typer.testing import CliRunner

from evenground.adapters.hand_over import FORMATS, hand_over
from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.cli.app import build

FILES = {
    "geojson": ["trial.geojson"],
    "gpkg": ["trial.gpkg"],
    "shp": ["shapefiles.zip"],
    "kml": ["trial.kml"],
    "gpx": ["trial.gpx"],
    "isoxml": ["TASKDATA/TASKDATA.XML"],
    "ics": ["trial.ics"],
    "pack": ["contractor-pack.zip"],
    "plan": ["field-plan.pdf", "fixed-before-harvest.pdf"],
    "sign": ["field-sign.pdf"],
}


@pytest.fixture
def trial(tmp_path: Path) -> Path:
    content = made.plan().model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    folder = TrialFolder.create(tmp_path / "piece", tomlkit.dumps({**content, "format": 1}), made.field())
    folder.append_draw(made.draw(folder.load().plan))
    return folder.path


def run(*arguments):
    return CliRunner().invoke(build(["export", *arguments]), ["export", *arguments])


def test_the_contract_names_every_form():
    assert set(FILES) == set(FORMATS)
    assert {"geojson", "gpkg", "shp", "kml", "gpx", "isoxml", "ics"} <= set(FORMATS)


@pytest.mark.parametrize("form", FILES)
def test_each_form_writes_its_files_and_names_them(trial, form):
    got = run(str(trial), "--to", form, "--json")
    assert got.exit_code == 0, got.output
    files = json.loads(got.stdout)["files"]
    assert [Path(name).relative_to(trial / "export").as_posix() for name in files] == FILES[form]
    assert all(Path(name).stat().st_size > 200 for name in files)


def test_a_single_file_may_get_its_own_name(trial, tmp_path):
    got = run(str(trial), "--to", "kml", "--out", str(tmp_path / "deep" / "for the phone.kml"))
    assert got.stdout.strip() == str(tmp_path / "deep" / "for the phone.kml")
    got = run(str(trial), "--to", "isoxml", "--out", str(tmp_path / "stick"))
    assert got.stdout.strip() == str(tmp_path / "stick" / "TASKDATA" / "TASKDATA.XML")


def test_nothing_in_the_trial_is_changed(trial):
    before = {p.name: p.read_bytes() for p in trial.iterdir() if p.is_file()}
    run(str(trial), "--to", "geojson")
    assert {p.name: p.read_bytes() for p in trial.iterdir() if p.is_file()} == before


def test_unknown_form(trial):
    got = run(str(trial), "--to", "fax")
    assert isinstance(got.exception, InputError)
    assert [(p.field, p.given) for p in got.exception.problems] == [("--to", "fax")]
    assert "isoxml" in got.exception.problems[0].allowed


def test_where_it_cannot_write(trial):
    (trial / "taken").write_text("a file, not a folder")
    got = run(str(trial), "--to", "plan", "--out", str(trial / "taken"))
    assert isinstance(got.exception, InputError)
    assert [p.field for p in got.exception.problems] == ["--out"]


def test_before_the_draw_and_without_an_outline(tmp_path, trial):
    stored = TrialFolder(trial).load()
    for changes, file in (({"draws": ()}, "strips.geojson"), ({"field": None}, "field.geojson")):
        parts = {**vars(stored), **changes}
        with pytest.raises(InputError) as raised:
            hand_over(type(stored)(**parts), "geojson", version="0")
        assert [p.file for p in raised.value.problems] == [file]


def test_a_changed_plan_is_said_on_standard_error(trial):
    path = trial / "trial.toml"
    path.write_text(path.read_text() + "\n[advice]\nfewest_blocks = 4\n")
    got = run(str(trial), "--to", "ics", "--json")
    assert got.exit_code == 0, got.output
    assert "changed after the draw" in got.stderr
    assert set(json.loads(got.stdout)) == {"files"}
