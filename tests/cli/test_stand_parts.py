"""evenground stand on a trial with every kind of stand record."""

import json
import shutil
import statistics
from datetime import timedelta
from pathlib import Path

import pytest
import tomlkit
from tests import small_trial as small
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.basis.observations import Depth, SpacingRun
from evenground.cli import stand
from evenground.cli.app import build

runner = CliRunner()


def counts(strip, unit):
    at = [
        small.count(strip, 90 + unit, f"{unit}a", row_unit=unit, stage="three_leaves", late_plants=4),
        small.count(strip, 88 + unit, f"{unit}b", row_unit=unit, stage="after_last_hoeing", lost_hoe=2),
    ]
    early = [
        small.count(strip, plants, f"{unit}e{day}", row_unit=unit, stage="emerging").model_copy(
            update={"time": small.DAY + timedelta(days=day)}
        )
        for day, plants in ((9, 20), (12, 80))
    ]
    return at + early


def runs(strip):
    if strip == 1:
        return [SpacingRun(id="R1", time=small.DAY, strips="1", readings=" ".join(str(14 * i) for i in range(12)))]
    lines = [" ".join(f"{28.1 * i:.1f}" for i in range(12))] * 2
    return [
        SpacingRun(id=f"R2-{n}", time=small.DAY, strips="2", run="a", line=n, offset_cm=14.0 * (n - 1), readings=text)
        for n, text in enumerate(lines, 1)
    ]


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    path = tmp_path_factory.mktemp("trials") / "piece"
    content = small.plan().model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    folder = TrialFolder.create(path, tomlkit.dumps({**content, "format": 1}))
    folder.append_draw(small.draw())
    folder.append_records([small.event(s, "sown") for s in (1, 2)])
    folder.append_records([c for s in (1, 2) for u in (1, 2) for c in counts(s, u)])
    folder.append_records([r for s in (1, 2) for r in runs(s)])
    folder.append_records(
        [
            Depth(id=f"T{s}{i}", time=small.DAY, strips=str(s), depth_cm=v)
            for s in (1, 2)
            for i, v in enumerate((4, 5, 7))
        ]
    )
    return path


def call(*words):
    arguments = [str(w) for w in words]
    return runner.invoke(build(arguments), arguments)


def test_every_part_is_there(trial):
    got = json.loads(call("stand", trial, "--json").stdout)
    assert got["strips"][0]["plants_per_m2"] == pytest.approx(9.15, rel=1e-3)
    assert got["stages"]["methods"][0]["after_last_hoeing"] == pytest.approx(8.95, rel=1e-3)
    assert [u["state"] for u in got["row_units"][:4]] == ["alike", "alike", "not counted", "not counted"]
    assert got["spacing"]["methods"][0]["quality_of_feed"] == 1.0
    assert got["spacing"]["strips"][1]["stagger"] == pytest.approx(1.0, abs=0.01)
    shown = call("stand", trial).stdout
    assert "land per plant, cm2" in shown
    assert "1\u202f050" in shown  # 0.14 x 0.75 m
    # 0.14 x 0.75 m, and 0.281 x 0.375 for each line of the twin row
    assert got["spacing"]["strips"][0]["growing_space"]["area_m2"] == pytest.approx(0.105, rel=1e-6)
    assert got["spacing"]["strips"][1]["growing_space"]["area_m2"] == pytest.approx(0.105375, rel=1e-3)
    assert got["depths"]["methods"][0]["outside_fraction"] == pytest.approx(1 / 3)
    assert got["emergence"][-1]["days_to_half"] == pytest.approx(10.0)
    assert got["counts_needed"][0]["cv_source"] == "counts of this trial"
    assert got["row_length_m"]["A"] == pytest.approx(13.333, abs=5e-4)


def test_every_part_is_said(trial):
    text = call("stand", trial).stdout
    for words in ("after last hoeing", "hoe 0.20", "row unit", "not counted", "spaced right %", "planned depth, cm",
                  "days to half emerged", "to tell a strip's plants/m2 within 5 %"):  # fmt: skip
        assert words in text


def test_the_error_can_be_chosen(trial):
    assert "within 2 %" in call("stand", trial, "--error", 0.02).stdout
    with pytest.raises(InputError, match="fraction of the plants/m2"):
        stand.run(trial, error=5.0)


def test_the_count_sheet(trial, tmp_path):
    path = tmp_path / "count.pdf"
    assert call("stand", trial, "--sheet", path, "--json").exit_code == 0
    assert path.read_bytes().startswith(b"%PDF")
    with pytest.raises(InputError, match="no such folder"):
        stand.run(trial, sheet=tmp_path / "nowhere" / "count.pdf")


def test_methods_are_compared_with_the_strip_as_unit(trial, tmp_path):
    assert json.loads(call("stand", trial, "--json").stdout)["comparisons"] == []  # one pair is no comparison
    more = TrialFolder(Path(shutil.copytree(trial, tmp_path / "more")))
    more.append_records([small.count(s, 90 + s, "x", row_unit=1, stage="three_leaves") for s in range(3, 9)])
    got = json.loads(call("stand", more.path, "--json").stdout)
    (plants,) = [one for one in got["comparisons"] if one["outcome"] == "plants" and one["unit"] == "per m2"]
    strips = {s["strip"]: s for s in got["strips"]}
    pairs = [[strips[n] for n in (k, k + 1)] for k in (1, 3, 5, 7)]
    gains = [sum(s["plants_per_m2"] * (1 if s["method"] == "B" else -1) for s in pair) for pair in pairs]
    assert (plants["method"], plants["baseline"]) == ("B", "A")
    assert plants["difference"] == pytest.approx(statistics.fmean(gains))
    half = 2.3533634 * statistics.stdev(gains) / 2  # two-sided 90 %, 3 degrees of freedom: any table of t
    assert plants["interval"][1] - plants["difference"] == pytest.approx(half, rel=1e-6)
    assert "The strip is the unit" in call("stand", more.path).stdout


def test_the_stagger_with_its_phase(trial):
    twin = json.loads(call("stand", trial, "--json").stdout)["spacing"]["strips"][1]["staggers"]
    assert [round(one["mean_phase"], 2) for one in twin] == [0.5]
    assert "well staggered" in call("stand", trial).stdout


def test_a_stand_as_even_as_was_measured(trial):
    a, b = json.loads(call("stand", trial, "--simulate", 2000, "--json").stdout)["simulated"]
    assert (a["method"], a["runs"], a["quality"]["miss_share"]) == ("A", 1, 0.0)
    assert a["plants"] == pytest.approx(2000, rel=0.05)
    # the run of A has a plant in every place, so the simulated stand has one for each seed
    assert a["plants_per_m2"] == pytest.approx(small.plan().methods[0].seeds_per_m2, rel=0.02)
    assert b["nearest_neighbour_mean_m"] > a["nearest_neighbour_mean_m"]
    said = call("stand", trial, "--simulate", 2000).stdout
    assert "as measured in 1 strip" in said
    assert "A nearest plant, cm" in said
    with pytest.raises(InputError, match="cannot be simulated"):
        stand.run(trial, simulate=5)
