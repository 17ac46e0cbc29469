"""evenground photo as a process: keys, words, files, exit statuses."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from tests.stand.scene import Scene, draw, jpeg

from evenground.stand.photo.limits import LIMITS

EVENGROUND = Path(sys.executable).with_name("evenground")
SCALE = ["--mark", 100, 100, 600, 100, "--distance-m", 1.0]


def call(command, *words):
    arguments = [EVENGROUND, command, *map(str, words)]
    return subprocess.run(arguments, capture_output=True, text=True, timeout=120, check=False)


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    folder = tmp_path_factory.mktemp("photo")
    drawn = draw(Scene(leaves=4, width_m=2.0, height_m=1.6, angle_deg=0.0), 30)
    jpeg(drawn.pixels, folder / "field.jpg")
    return folder, drawn


def test_keys_files_and_limits(scene, tmp_path):
    folder, drawn = scene
    done = call("photo", folder / "field.jpg", *SCALE, "--out", tmp_path, "--json")
    assert done.returncode == 0, done.stderr
    got = json.loads(done.stdout)
    assert got["pixel_m"] == pytest.approx(0.002)
    assert got["limits"] == list(LIMITS)
    assert sum(row["plants"] for row in got["rows"]) == got["plants"] > 0
    assert {"row", "lines", "plants", "length_m", "plants_per_metre", "twin_gap_m", "to_next_row_m"} == set(
        got["rows"][0]
    )
    for name in got["files"]:
        assert Path(name).is_file()
    run = next(name for name in got["files"] if name.endswith(".csv"))
    spacing = call("spacing", run, "--target-m", f"{drawn.scene.pattern.target_m:.3f}", "--json")
    assert spacing.returncode == 0, spacing.stderr
    assert json.loads(spacing.stdout)["gaps"] > 5


def test_words_repeat_the_limits(scene, tmp_path):
    done = call("photo", scene[0] / "field.jpg", *SCALE, "--out", tmp_path)
    assert done.returncode == 0
    assert "How far to trust this:" in done.stdout
    for text in LIMITS:
        assert text in done.stdout


def test_corrections_go_round(scene, tmp_path):
    folder, _ = scene
    first = json.loads(call("photo", folder / "field.jpg", *SCALE, "--out", tmp_path, "--json").stdout)
    run = next(Path(name) for name in first["files"] if name.endswith(".csv"))
    _, _, position, x, y = run.read_text().splitlines()[3].split(",")
    fix = tmp_path / "fix.csv"
    fix.write_text(f"action,x,y\nremove,{x},{y}\n")
    words = [folder / "field.jpg", *SCALE, "--out", tmp_path, "--corrections", fix, "--json"]
    assert json.loads(call("photo", *words).stdout)["plants"] == first["plants"] - 1
    assert not any(row.split(",")[2] == position for row in run.read_text().splitlines())
    fix.write_text("action,x,y\nremove,1,1\n")
    done = call("photo", *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert "fix.csv, line 2: x, y: there is no plant to take out here" in done.stderr


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    folder = tmp_path_factory.mktemp("kept")
    assert call("demo", folder).returncode == 0
    return folder / "trial"


def test_runs_are_kept_in_a_trial_and_corrected_there(scene, trial, tmp_path):
    kept = trial / "records" / "spacing_runs.csv"
    before = kept.read_text().splitlines()
    words = [scene[0] / "field.jpg", *SCALE, "--out", tmp_path, "--into", trial, "--strip", 7]
    words += ["--taken", "2026-05-25T10:00"]
    done = call("photo", *words)
    assert done.returncode == 0, done.stderr
    assert ", 0 of them correct" in done.stderr
    first = kept.read_text().splitlines()
    assert len(first) > len(before)
    run = next(tmp_path.glob("*-row-1.csv"))
    x, y = run.read_text().splitlines()[3].split(",")[3:]
    fix = tmp_path / "fix.csv"
    fix.write_text(f"action,x,y\nremove,{x},{y}\n")
    assert ", 1 of them correct" in call("photo", *words, "--corrections", fix).stderr
    assert kept.read_text().splitlines()[: len(first)] == first
    assert "by hand 0 put in, 1 taken out" in kept.read_text().splitlines()[-1]
    stand = call("stand", trial, "--json")
    assert stand.returncode == 0, stand.stderr


def test_the_trial_the_strip_and_the_time_go_together(scene, trial, tmp_path):
    done = call("photo", scene[0] / "field.jpg", *SCALE, "--out", tmp_path, "--into", trial)
    assert (done.returncode, done.stdout) == (2, "")
    assert "--into, --strip, --taken together" in done.stderr


@pytest.mark.parametrize(
    ("words", "field"),
    [
        (["--mark", 1, 1, 300, 1], "--distance-m"),
        (["--distance-m", 1], "--mark"),
        (["--mark", 1, 1, 1, 1, "--distance-m", 1], "--mark"),
        (["--mark", 1, 1, 300, 1, "--distance-m", 0], "--distance-m"),
        ([], "--mark"),
    ],
)
def test_no_scale(scene, words, field):
    done = call("photo", scene[0] / "field.jpg", *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert field in done.stderr


def test_bare_ground(tmp_path):
    ground = np.random.default_rng(0).normal((130, 105, 80), 4, (400, 600, 3)).clip(0, 255).astype(np.uint8)
    Image.fromarray(ground).save(tmp_path / "bare.png")
    done = call("photo", tmp_path / "bare.png", "--mark", 0, 0, 500, 0, "--distance-m", 1, "--out", tmp_path)
    assert done.returncode == 2
    assert "bare.png: photo: nothing in this picture is green" in done.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["bare.png"]


def test_it_starts_without_maps_tables_or_a_trial():
    code = "import sys, evenground.cli.photo; print(*sorted(m for m in sys.modules if '.' not in m))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert not {"shapely", "pyproj", "pandas", "matplotlib", "typst", "PIL"} & set(done.stdout.split())
