"""evenground space as a process: keys, words, pictures, and what cannot be."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest

EVENGROUND = Path(sys.executable).with_name("evenground")
# JSON keys that other programs rely on
KEYS = {
    "in_line_spacing_m", "nearest_neighbour_m", "circle_area_m2", "circle_share", "growing_space_m2", "compactness",
}  # fmt: skip


def space(*words):
    return subprocess.run(
        [EVENGROUND, "space", *map(str, words)], capture_output=True, text=True, timeout=60, check=False
    )


def pattern(*more, row=0.75, seeds=8.5):
    return space("--row-spacing-m", row, "--seeds-per-m2", seeds, *more)


def found(*more, **options):
    done = pattern(*more, "--json", **options)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_the_keys_are_the_contract():
    result = found()
    assert set(result) >= KEYS | {"triangle"}
    assert result["nearest_neighbour_m"] == pytest.approx(1 / (8.5 * 0.75))
    assert result["growing_space_m2"] == pytest.approx(1 / 8.5)
    assert set(result["triangle"]) >= KEYS


def test_twin_rows_published():
    # 36,000 per acre, 8 in apart on 30 in: 9.9 in to the nearest, 11.6 in within the line (agriculture.com, quoting
    # R. L. Nielsen, Purdue); half of the last digit
    result = found("--twin-gap-m", 8 * 0.0254, "--staggered", row=30 * 0.0254, seeds=36_000 / 4046.8564224)
    assert result["nearest_neighbour_m"] / 0.0254 == pytest.approx(9.9, abs=0.05)
    assert result["in_line_spacing_m"] / 0.0254 == pytest.approx(11.6, abs=0.05)


def test_compare_roots_and_words():
    words = ("--twin-gap-m", 0.22, "--staggered", "--compare", "--root-radius-m", 0.2)
    result = found(*words)
    assert result["compared_with"]["pattern"] == "single rows"
    reached = result["root_reach"]["patterns"]
    assert 0 < reached["single rows"]["share_of_ground"] < reached["twin rows, staggered"]["share_of_ground"] < 1
    assert "no source" in result["root_reach"]["source"]
    said = pattern(*words).stdout
    assert "every pattern gives a plant the same land" in said
    assert "nearest plant +72%, circle to it +197%, land per plant 0% (it is the same)" in said
    assert "ground within 20 cm of a plant" in said
    assert "common practice, no source" in said


def test_days_stand_for_a_radius():
    result = found("--days", 20, "--root-growth-mm-per-day", 10)
    assert result["root_reach"]["root_radius_m"] == pytest.approx(0.2)
    far = result["farthest_ground_m"]
    assert result["root_reach"]["patterns"]["single rows"]["day_all_reached"] == math.ceil(100 * far)


def test_bands():
    result = found("--band-width-m", 0.3)
    assert result["growing_space_m2"] == pytest.approx(1 / 8.5)
    assert result["growing_space_least_m2"] < 1 / 8.5 < result["growing_space_most_m2"]


def test_a_simulated_stand_is_the_same_each_time():
    one, other = (found("--simulate", 3000, "--seed", 7)["simulated"] for _ in range(2))
    assert one == other
    assert one["plants"] == pytest.approx(3000, rel=0.05)
    assert found("--simulate", 3000, "--seed", 8)["simulated"] != one
    assert "Simulated stand" in pattern("--simulate", 3000).stdout


def test_the_planter_of_the_simulation_can_be_told():
    even = found("--simulate", 3000, "--precision", 0, "--misses", 0, "--doubles", 0, "--emergence", 1)["simulated"]
    assert even["plants_per_m2"] == pytest.approx(8.5, rel=0.02)
    assert even["quality"]["precision"] == 0.0
    usual = found("--simulate", 3000)["simulated"]
    assert even["growing_space_sd_m2"] < usual["growing_space_sd_m2"]
    assert "common practice, no source" in pattern("--simulate", 3000).stdout
    said = pattern("--simulate", 3000, "--misses", 0.1).stdout
    assert "misses 10 %" in said
    assert "no source" not in said


@pytest.mark.parametrize("name", ["rows.svg", "rows.png"])
def test_a_picture_is_written_and_named(tmp_path, name):
    path = tmp_path / name
    assert found("--twin-gap-m", 0.22, "--picture", path)["files"] == [str(path)]
    assert path.stat().st_size > 5000


@pytest.mark.parametrize(
    ("more", "options", "says"),
    [
        ((), {"seeds": 90}, ["--seeds-per-m2", "Given: 90", "Allowed: 2 to 20"]),
        ((), {"seeds": "nan"}, ["--seeds-per-m2", "Given: nan"]),
        (("--twin-gap-m", 0.5), {"row": 0.4}, ["--twin-gap-m", "must be smaller than the row spacing", "below 0.4"]),
        (("--twin-gap-m", -0.2), {}, ["--twin-gap-m", "Given: -0.2", "Allowed: 0.02 to 0.6"]),
        (("--staggered",), {}, ["--staggered", "only twin rows can be staggered", "--twin-gap-m"]),
        (("--twin-gap-m", 0.2, "--band-width-m", 0.3), {}, ["a twin row or a band, not both"]),
        (("--band-width-m", 0.75), {}, ["width of the band must be smaller", "below 0.75"]),
        ((), {"row": 0}, ["--row-spacing-m", "Given: 0", "Allowed: 0.1 to 2"]),
        (("--root-radius-m", -1), {}, ["--root-radius-m", "Given: -1", "Allowed: 0 to 5"]),
        (("--days", 20, "--root-radius-m", 0.1), {}, ["the radius or the day, not both"]),
        (("--days", "nan"), {}, ["--days", "Given: nan"]),
        (("--root-growth-mm-per-day", 0), {}, ["--root-growth-mm-per-day", "Given: 0"]),
        (("--simulate", 5), {}, ["--simulate", "Given: 5", "Allowed: 100 to 5000000"]),
        (("--precision", 20, "--emergence", 93), {}, ["--precision", "share, not percent", "0.05 to 1", "2 problems"]),
        (("--misses", "nan"), {}, ["--misses", "Given: nan", "0 to 0.5"]),
        (("--picture", "nowhere/rows.svg"), {}, ["--picture", "no such folder"]),
        (("--picture", "rows.gif"), {}, ["--picture", ".svg or .png"]),
    ],
)
def test_what_cannot_be_is_said(more, options, says):
    done = pattern(*more, "--json", **options)
    assert done.returncode == 2
    assert done.stdout == ""
    for words in says:
        assert words in done.stderr, done.stderr


def test_all_problems_come_at_once():
    done = pattern("--twin-gap-m", 0.8, row=0.75, seeds=90)
    assert done.returncode == 2
    assert "2 problems found" in done.stderr


def test_any_other_pattern_is_written_as_lines():
    own, named = found("--lines", "0/0 0.2/0.5"), found("--twin-gap-m", 0.2, "--staggered")
    assert own["pattern"] == "own pattern of 2 lines"
    assert {k: own[k] for k in KEYS} == pytest.approx({k: named[k] for k in KEYS}, rel=1e-9)
    assert "own pattern of 3 lines against single rows" in pattern("--lines", "0/0 0.2/0.5 0.4/0", "--compare").stdout


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--lines", "0/0 0.8/0"), "below the row spacing"),
        (("--lines", "0.2"), "no pattern of lines"),
        (("--lines", "0/0 " * 25), "no pattern of lines"),
        (("--lines", "0/0", "--twin-gap-m", 0.2), "no twin row"),
        (("--lines", "0/0", "--simulate", 1000), "only"),
    ],
)
def test_lines_that_cannot_be(more, says):
    done = pattern(*more)
    assert done.returncode == 2
    assert says in done.stderr
