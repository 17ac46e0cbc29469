"""evenground spacing as a process: keys, words, exit statuses."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

EVENGROUND = Path(sys.executable).with_name("evenground")
WORKED = [
    "10",
    "9",
    "11",
    "4",
    "7",
    "12",
    "20",
    "10",
    "8",
    "31",
    "10",
    "3",
    "9",
    "42",
    "10",
    "14.9",
    "15.0",
    "15.1",
    "5.0",
    "5.1",
]


def call(path, *words):
    arguments = [EVENGROUND, "spacing", path, *map(str, words)]
    return subprocess.run(arguments, capture_output=True, text=True, timeout=60, check=False)


@pytest.fixture
def run(tmp_path):
    path = tmp_path / "run.csv"
    path.write_text("gap_cm\n" + "\n".join(WORKED) + "\n")
    return path


def test_keys_and_values(run):
    done = call(run, "--target-m", 0.1, "--json")
    assert done.returncode == 0
    got = json.loads(done.stdout)
    # the set counted by hand in tests/stand/test_spacing.py
    assert (got["gaps"], got["classes"]) == (20, [3, 13, 2, 1, 1])
    assert got["by_gaps"] == {"multiples": 0.15, "quality_of_feed": 0.65, "misses": 0.2}
    assert set(got["by_places"]) == set(got["by_gaps"])
    assert got["precision"] == pytest.approx(0.2783, abs=5e-5)
    assert got["mean_m"] == pytest.approx(0.12555)
    assert got["sd_m"] is not None


def test_screen_words_first_the_standard_beside(run):
    done = call(run, "--target-m", 0.1)
    for words in ("spaced right  quality of feed", "miss          miss", "double        multiple", "27.8 %"):
        assert words in done.stdout


def test_a_twin_row_shows_its_stagger(tmp_path):
    path = tmp_path / "twin.csv"
    both = [(1, 30 * i) for i in range(12)] + [(2, 15 + 30 * i) for i in range(11)]
    path.write_text("line;position_cm\n" + "\n".join(f"{a};{b}" for a, b in both))
    assert json.loads(call(path, "--target-m", 0.3, "--json").stdout)["stagger"]["stagger"] == pytest.approx(1.0)
    assert "well staggered" in call(path, "--target-m", 0.3).stdout


def test_few_gaps_and_doubles_only_are_put_in_words(tmp_path):
    path = tmp_path / "run.csv"
    path.write_text("gap_cm\n1\n2\n1\n")
    done = call(path, "--target-m", 0.2)
    assert "cannot be told" in done.stdout
    assert "places cannot be counted" in done.stdout


@pytest.mark.parametrize(
    "words", [["--target-m", "0"], ["--target-m", "15"], ["--target-m", "0.1", "--number-style", "x"]]
)
def test_wrong_options(run, words):
    done = call(run, *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert words[-2] in done.stderr


def test_a_restarted_tape(tmp_path):
    path = tmp_path / "run.csv"
    path.write_text("position_cm\n0\n15\n30\n2\n17\n")
    done = call(path, "--target-m", 0.15, "--json")
    assert (done.returncode, done.stdout) == (2, "")
    assert "run.csv, line 5: position_cm: the tape starts again here" in done.stderr


def test_it_starts_without_maps_tables_or_a_trial():
    code = "import sys, evenground.cli.spacing; print(*sorted(m for m in sys.modules if '.' not in m))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert not {"shapely", "pyproj", "pandas", "matplotlib", "typst"} & set(done.stdout.split())
