"""evenground compare as a process: keys, exit statuses, imports, and the bad input of everyday tables."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

SIM = Path(__file__).parents[1] / "cases" / "data" / "sim_16strips.csv"
EVENGROUND = Path(sys.executable).with_name("evenground")
KEYS = {
    "method", "baseline", "gain", "standard_error", "df", "df_satterthwaite", "t", "p", "interval", "level",
    "interval_simultaneous", "p_simultaneous", "p_randomisation", "p_randomisation_exact", "p_randomisation_error",
    "p_randomisation_smallest", "reference_set_size", "posterior",
}  # fmt: skip
GOOD = "strip,method,block,yield\n1,A,1,10.1\n2,B,1,10.9\n3,B,2,11.2\n4,A,2,10.45\n5,A,3,9.8\n6,B,3,10.0\n"


def call(*words: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run([EVENGROUND, *map(str, words)], capture_output=True, text=True, timeout=60, check=False)


def compare(path: Path, *more: object) -> subprocess.CompletedProcess[str]:
    options = ["--outcome", "yield", "--method", "method", "--block", "block", "--baseline", "A", *more]
    return call("compare", path, *options)


def written(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "trial.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_the_keys_are_the_contract():
    done = call(
        "compare", SIM, "--outcome", "yield", "--method", "trt", "--block", "block", "--baseline", "A", "--json"
    )
    assert done.returncode == 0
    result = json.loads(done.stdout)
    assert {
        "strips", "blocks", "baseline", "method_means", "block_effects", "variance_components", "prior", "comparisons",
    } <= set(result)  # fmt: skip
    assert set(result["variance_components"]) == {"block", "residual"}
    assert set(result["comparisons"][0]) >= KEYS
    assert set(result["comparisons"][0]["posterior"]) >= {"mean", "sd", "interval", "chance_positive"}
    assert (result["strips"], result["blocks"]) == (16, 8)
    assert result["comparisons"][0]["reference_set_size"] == 256


def test_priors_are_taken_and_echoed(tmp_path):
    path = written(tmp_path, GOOD)
    done = compare(path, "--prior-gain", -0.1, 0.3, "--prior-strip-error", 0.4, 0.5, "--level", 0.8, "--json")
    result = json.loads(done.stdout)
    assert result["prior"]["gain"] == {"mean": -0.1, "sd": 0.3}
    assert result["prior"]["strip_error"] == {"median": 0.4, "log_sd": 0.5}
    assert result["comparisons"][0]["level"] == 0.8


def test_the_plain_words_have_the_numbers(tmp_path):
    done = compare(written(tmp_path, GOOD))
    assert "B gave 0.583 more than A." in done.stdout
    assert "6 strips in 3 blocks" in done.stdout


def test_it_starts_without_heavy_libraries():
    """The list of what is imported: no pandas, scipy.stats, Django or GIS (typer itself uses pydantic)."""
    code = (
        "import sys; from evenground.cli.app import build; from typer.testing import CliRunner\n"
        f"words = ['compare', {str(SIM)!r}, '--outcome', 'yield', '--method', 'trt', '--block', 'block', "
        "'--baseline', 'A', '--json']\n"
        "done = CliRunner().invoke(build(words), words); assert done.exit_code == 0, done.output\n"
        "print(sorted({m.split('.')[0] for m in sys.modules} | {m for m in sys.modules if m.startswith('scipy.')}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    loaded = set(eval(done.stdout.splitlines()[-1]))  # our own output
    heavy = {"pandas", "django", "shapely", "pyproj", "pyogrio", "geopandas", "matplotlib", "tomlkit", "typst"}
    assert not loaded & heavy
    assert not loaded & {"scipy.stats", "scipy.optimize", "scipy.sparse", "scipy.spatial", "scipy.integrate"}
    assert {"numpy", "scipy.special"} <= loaded


def test_the_comparison_itself_needs_numpy_and_scipy_special_only():
    code = "import sys, evenground.compare.compare, evenground.adapters.strip_table; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert not set(done.stdout.split()) & {"pydantic", "typer", "rich", "pandas", "scipy.stats", "shapely"}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (GOOD.replace("yield", "yeild"), ["trial.csv, line 1: yield", "column is missing", "called yeild"]),
        (GOOD.replace("10.9", "ten"), ["line 3: yield", "not a number", "Given: ten"]),
        (GOOD.replace("10.9", "nan").replace("11.2", "inf"), ["line 3: yield", "NaN", "line 4: yield", "infinite"]),
        (GOOD.replace("A", "C"), ["no strip with a value has this method", "Given: A", "one of B, C"]),
        (GOOD + "7,D,3,10.2\n", ["line 8: method", "one strip cannot be told from its ground", "Given: D, 1 strip"]),
        (GOOD.replace("2,B,1", "2,,1"), ["line 3: method", "cell is empty"]),
        ("", ["this file is empty"]),
        (GOOD.splitlines()[0], ["a header but no rows"]),
        (GOOD.replace("3,B,2,11.2", "3,B,2,11.2,extra"), ["line 4", "5 cells, the header has 4"]),
    ],
    ids=["column", "text", "nan and inf", "baseline", "one strip", "empty method", "empty", "no rows", "wide"],
)
def test_bad_tables_are_said_with_file_line_field_given_allowed(tmp_path, text, says):
    done = compare(written(tmp_path, text), "--json")
    assert done.returncode == 2
    assert done.stdout == ""
    for words in says:
        assert words in done.stderr, done.stderr


def test_all_problems_come_at_once(tmp_path):
    done = compare(written(tmp_path, GOOD.replace("10.9", "ten").replace("9.8", "nine").replace("10.0", "NaN")))
    assert done.returncode == 2
    assert done.stderr.count("trial.csv, line") == 3
    assert "3 problems found" in done.stderr


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace(",", ";").replace(".", ","),
        "\ufeff" + GOOD,
        GOOD.replace("\n", "\r\n"),
        GOOD.replace(",", "\t"),
    ],
    ids=["semicolons and decimal commas", "BOM", "CRLF", "tabs"],
)
def test_tables_as_spreadsheets_write_them_are_read_rightly(tmp_path, text):
    plain = json.loads(compare(written(tmp_path, GOOD), "--json").stdout)
    assert json.loads(compare(written(tmp_path, text), "--json").stdout) == plain


def test_thousands_or_decimals_is_asked_not_guessed(tmp_path):
    text = "strip;method;block;yield\n" + "".join(
        f"{i};{'AB'[i % 2]};{(i + 1) // 2};{9 + i % 3}.{i}50\n" for i in range(1, 7)
    )
    done = compare(written(tmp_path, text))
    assert done.returncode == 2
    assert "is 10.150 to be read as 10.15 or as 10 150?" in done.stderr
    one = json.loads(compare(written(tmp_path, text), "--number-style", "1234.5", "--json").stdout)
    other = json.loads(compare(written(tmp_path, text), "--number-style", "1.234,5", "--json").stdout)
    assert other["comparisons"][0]["gain"] == pytest.approx(1000 * one["comparisons"][0]["gain"])
    commas = compare(written(tmp_path, text.replace(";", ",")), "--json")
    assert "commas separate the cells, so 10.150 is read as 10.15" in commas.stderr
    assert json.loads(commas.stdout)["comparisons"] == one["comparisons"]


def test_a_missing_strip_stays_missing(tmp_path):
    done = compare(written(tmp_path, GOOD.replace("10.45", "") + "7,A,4,10.1\n8,B,4,NA\n"), "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["strips"] == 6
    assert "no yield in line 5, 9; these strips stay missing" in done.stderr


def test_a_block_without_the_baseline_is_named_and_the_rest_is_computed(tmp_path):
    done = compare(written(tmp_path, GOOD + "7,B,4,10.7\n8,B,5,10.8\n"), "--json")
    assert done.returncode == 0
    assert "trial.csv, line 8: block: this block has no strip of the baseline" in done.stderr
    assert "Given: 4." in done.stderr
    assert "Given: 5." in done.stderr
    assert json.loads(done.stdout)["strips"] == 8


def test_plots_that_change_method_within_a_strip_are_said(tmp_path):
    text = GOOD.replace("3,B,2", "2,B,2")
    done = compare(written(tmp_path, text), "--strip", "strip")
    assert done.returncode == 2
    assert "strip 2 was in method B, block 1 before" in done.stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--level", "90"], "the level is a fraction"),
        (["--prior-gain", "0", "-1"], "SD is not above 0"),
        (["--prior-strip-error", "0", "1"], "both must be above 0"),
        (["--number-style", "x"], "there is no such style"),
    ],
)
def test_wrong_options_are_said(tmp_path, words, says):
    done = compare(written(tmp_path, GOOD), *words)
    assert done.returncode == 2
    assert says in done.stderr


def test_a_file_that_is_not_there(tmp_path):
    done = compare(tmp_path / "nothing.csv")
    assert done.returncode == 2
    assert "there is no such file" in done.stderr


def test_gain_at_equal_plants_stands_beside_the_plain_one(tmp_path):
    # Made so that yield is 2 t/ha for each plant/m2 and 0.5 more for B; B has 0.4 plants/m2 more: plain 1.3, equal 0.5.
    plants = {(b, m): 8 + 0.1 * ((b * 3) % 5) * (1 if m == "A" else -1) for b in range(1, 7) for m in "AB"}
    mean = {m: sum(v for (_, n), v in plants.items() if n == m) / 6 for m in "AB"}
    plants = {(b, m): v - mean[m] + 8 + 0.4 * (m == "B") for (b, m), v in plants.items()}
    rows = [f"{b}{m},{b},{m},{2 * v + 0.5 * (m == 'B') + 0.1 * b:.9f},{v:.9f}" for (b, m), v in plants.items()]
    path = tmp_path / "strips.csv"
    path.write_text("\n".join(["strip,block,method,t,plants", *rows]) + "\n")
    words = ["compare", path, "--outcome", "t", "--method", "method", "--block", "block", "--baseline", "A"]
    got = json.loads(call(*words, "--plants", "plants", "--json").stdout)
    (one,) = got["gains_at_equal_plants"]
    assert got["comparisons"][0]["gain"] == pytest.approx(1.3)
    assert (one["plain_gain"], one["adjusted_gain"]) == (pytest.approx(1.3), pytest.approx(0.5, abs=1e-6))
    assert (one["slope"], one["plants_apart"]) == (pytest.approx(2.0, abs=1e-6), pytest.approx(0.4))
    assert "The draw protects the first figure" in call(*words, "--plants", "plants").stdout
    assert "gains_at_equal_plants" not in json.loads(call(*words, "--json").stdout)
    refused = call(*words, "--strip", "strip", "--plants", "plants")
    assert refused.returncode == 2
    assert "each row is one strip" in refused.stderr
