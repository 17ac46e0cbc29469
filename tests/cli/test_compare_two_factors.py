"""evenground compare of a split plot, as a process: R's aov and lme4 + pbkrtest, whole plots, and bad tables."""

from __future__ import annotations

import json
import subprocess
import sys
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from tests.cases import reference

DATA = Path(__file__).parents[1] / "cases" / "data"
EVENGROUND = Path(sys.executable).with_name("evenground")
STRATA = {
    "oats": ("Error: Block:Variety", "Variety", "nitro", "Variety:nitro"),
    "stroup": ("Error: block:a", "a", "b", "a:b"),
}
# An invented table: two blocks of two patterns at two rates; strips numbered, the yield a made-up number.
SMALL = (
    "strip,block,pattern,rate,plot,yield\n"
    "1,1,single,8,p1,10.0\n2,1,single,9,p1,10.4\n3,1,twin,9,p2,11.2\n4,1,twin,8,p2,10.9\n"
    "5,2,twin,8,p3,11.6\n6,2,twin,9,p3,11.5\n7,2,single,9,p4,10.1\n8,2,single,8,p4,10.3\n"
    "9,3,single,8,p5,9.8\n10,3,single,9,p5,10.2\n11,3,twin,9,p6,10.6\n12,3,twin,8,p6,10.8\n"
)


def call(path: Path, *more: object) -> subprocess.CompletedProcess[str]:
    words = [EVENGROUND, "compare", path, *map(str, more)]
    return subprocess.run(words, capture_output=True, text=True, timeout=60, check=False)


def small(tmp_path: Path, text: str = SMALL, *more: object) -> subprocess.CompletedProcess[str]:
    path = tmp_path / "split.csv"
    path.write_text(text)
    columns = ["--outcome", "yield", "--block", "block", "--whole-factor", "pattern", "--within-factor", "rate"]
    return call(path, *columns, "--baseline", "single/8", *more)


def oats(*more: object, path: Path = DATA / "nlme_Oats.csv") -> subprocess.CompletedProcess[str]:
    columns = ["--outcome", "yield", "--block", "Block", "--whole-factor", "Variety", "--within-factor", "nitro"]
    return call(path, *columns, "--baseline", "Golden Rain/0.0", *more)


def stroup(*more: object, path: Path = DATA / "stroup_splitplot.csv") -> subprocess.CompletedProcess[str]:
    columns = ["--outcome", "y", "--block", "block", "--whole-factor", "a", "--within-factor", "b"]
    return call(path, *columns, "--baseline", "1/1", *more)


@pytest.mark.parametrize(("name", "run"), [("oats", oats), ("stroup", stroup)])
def test_both_errors_are_those_of_rs_aov(name, run):
    """R 4.2.2 aov with Error strata (cases/r/split_plot.R): F and p of each factor; 1e-9, R prints 15 digits."""
    strata = json.loads((Path(reference.HERE) / "r" / "split_plot.json").read_text())[name]
    where, whole, within, both = STRATA[name]
    found = {t["factor"]: t for t in json.loads(run("--json").stdout)["factor_tests"]}
    for stratum, term, factor in (
        (where, whole, whole),
        ("Error: Within", within, within),
        ("Error: Within", both, f"{within} by {whole}"),
    ):
        rows = {r["term"]: r for r in strata[stratum]}
        got = found[factor]
        assert (got["f"], got["p"]) == pytest.approx((rows[term]["F"], rows[term]["p"]), rel=1e-9)
        assert (got["df"], got["df_error"]) == (rows[term]["df"], rows["Residuals"]["df"])


def test_methods_are_compared_as_lme4_and_pbkrtest_do():
    """cases/r/mixed_models.json: estimate and standard error 1e-5 relative, degrees of freedom 1e-4."""
    r = {row["term"]: row for row in reference.mixed_models()["oats_splitplot"]["fixed"]}
    found = {c["method"]: c for c in json.loads(oats("--json").stdout)["comparisons"]}
    for method, term in (("Golden Rain/0.4", "nf0.4"), ("Marvellous/0.0", "VarietyMarvellous")):
        got = found[method]
        assert (got["gain"], got["standard_error"]) == pytest.approx((r[term]["estimate"], r[term]["se_KR"]), rel=1e-5)
        assert got["df"] == pytest.approx(r[term]["df_KR"], rel=1e-4)
        assert got["p_randomisation"] is None, "no order of the draw swaps two methods alone"


def test_an_incomplete_table_as_lme4_and_pbkrtest_fit_it(tmp_path):
    """Stroup's table without its first row (cases/r/more_models.R, stroup_missing): 1e-5, degrees of freedom 1e-4."""
    text = (DATA / "stroup_splitplot.csv").read_text().replace("1,1,1,56", "1,1,1,NA", 1)
    path = tmp_path / "stroup.csv"
    path.write_text(text)
    done = stroup("--json", path=path)
    assert "no y in line 2" in done.stderr
    r = {row["term"]: row for row in reference.more_models()["stroup_missing"]["fixed"]}
    f = next(t for t in reference.more_models()["stroup_missing"]["F_KR"] if t["term"] == "a:b")
    both = json.loads(done.stdout)["factor_tests"][2]
    assert (both["f"], both["df_error"], both["p"]) == pytest.approx((f["F"], f["den"], f["p"]), rel=1e-4)
    found = {c["method"]: c for c in json.loads(done.stdout)["comparisons"]}
    for method, term in (("2/1", "a2"), ("3/1", "a3"), ("1/2", "b2")):
        got = found[method]
        assert (got["gain"], got["standard_error"]) == pytest.approx((r[term]["estimate"], r[term]["se_KR"]), rel=1e-5)
        assert got["df"] == pytest.approx(r[term]["df_KR"], rel=1e-4)


def test_randomisation_tests_count_every_order_of_each_factor(tmp_path):
    """By hand: patterns change places in each block (2^3 orders), rates in each whole plot (2^6)."""
    effects = json.loads(small(tmp_path, SMALL, "--json").stdout)["factor_effects"]
    y = np.array([float(line.split(",")[-1]) for line in SMALL.split()[1:]])
    twin = np.array(["twin" in line for line in SMALL.split()[1:]])
    high = np.array([line.split(",")[3] == "9" for line in SMALL.split()[1:]])
    by_block = np.where(twin, y, -y).reshape(3, 4).sum(1)
    by_plot = np.where(high, y, -y).reshape(6, 2).sum(1)
    for effect, part in zip(effects, (by_block, by_plot), strict=False):
        sums = np.abs([np.dot(flip, part) for flip in product((1, -1), repeat=len(part))])
        assert effect["p_randomisation"] == np.mean(sums >= abs(part.sum()) - 1e-9)
        assert effect["reference_set_size"] == 2 ** len(part)
    assert effects[2]["p_randomisation"] is None


def test_a_lost_strip_leaves_its_whole_plot_out_of_both_tests(tmp_path):
    effects = json.loads(small(tmp_path, SMALL.replace("11.5", ""), "--json").stdout)["factor_effects"]
    assert effects[0]["p_randomisation_smallest"] == 2 / 2**2, "block 2 has one sound whole plot left"
    assert effects[1]["p_randomisation_smallest"] == 2 / 2**5


def test_the_plain_words_have_both_factors(tmp_path):
    said = small(tmp_path).stdout
    assert "What each factor did:" in said
    assert "pattern twin gave 0.967 more than pattern single, probably between" in said
    assert "judged by whole plots" in said
    assert "rate by pattern: the step from 8 to 9 in twin brought" in said
    assert "over all levels: F" in said


def test_methods_may_have_names_of_their_own(tmp_path):
    """The same answer under other names, with whole plots from their own column."""
    names = {"single,8": "A", "single,9": "B", "twin,8": "C", "twin,9": "D"}
    lines = SMALL.split()
    text = "\n".join([lines[0] + ",m", *(f"{x},{names[','.join(x.split(',')[2:4])]}" for x in lines[1:])]) + "\n"
    plain = json.loads(small(tmp_path, SMALL, "--json").stdout)
    done = small(tmp_path, text, "--method", "m", "--baseline", "A", "--whole-plot", "plot", "--json")
    named = json.loads(done.stdout)
    assert named["factor_effects"] == plain["factor_effects"]
    assert {c["method"] for c in named["comparisons"]} == {"B", "C", "D"}


def test_plots_of_strips_count_as_one(tmp_path):
    """Two plots a strip, 0.1 above and below it: the strip's mean is what it was."""
    lines = SMALL.split()
    twice = [
        f"{x.rpartition(',')[0]},{float(x.rpartition(',')[2]) + off:.2f}" for x in lines[1:] for off in (0.1, -0.1)
    ]
    plain = json.loads(small(tmp_path, SMALL, "--json").stdout)
    plots = json.loads(small(tmp_path, "\n".join([lines[0], *twice]) + "\n", "--strip", "strip", "--json").stdout)
    for one, other in zip(plain["factor_effects"], plots["factor_effects"], strict=True):
        assert other["effect"] == pytest.approx(one["effect"], abs=1e-9)
        assert other["df"] == one["df"]


def test_a_method_lost_whole_is_said_and_the_others_are_compared(tmp_path):
    text = "\n".join(x.rpartition(",")[0] + "," if ",twin,9," in x else x for x in SMALL.split()) + "\n"
    found = json.loads(small(tmp_path, text, "--json").stdout)
    assert "factor_effects" not in found
    assert {c["method"] for c in found["comparisons"]} == {"single/9", "twin/8"}
    assert any("Of method twin/9 too little was weighed" in note for note in found["notes"])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (SMALL.replace("rate", "speed", 1), ["rate", "column is missing"]),
        (SMALL.replace("2,1,single,9", "2,1,,9"), ["line 3: pattern", "cell is empty"]),
        (SMALL.replace("twin", "single"), ["pattern", "one level only"]),
        (SMALL.replace("single", "s"), ["no strip with a value has this method", "Given: single/8"]),
        (SMALL.replace("10.0\n", "ten\n"), ["line 2: yield", "not a number"]),
    ],
    ids=["column", "empty level", "one level", "baseline", "text"],
)
def test_bad_tables_are_said(tmp_path, text, says):
    done = small(tmp_path, text, "--json")
    assert (done.returncode, done.stdout) == (2, "")
    for words in says:
        assert words in done.stderr, done.stderr


@pytest.mark.parametrize(
    ("text", "more", "says"),
    [
        (
            SMALL.replace("twin,9,p2", "twin,9,p1"),
            ["--whole-plot", "plot"],
            ["line 4: plot", "whole plot p1 had"],
        ),
        (SMALL, ["--method", "plot"], ["line 3: plot", "method p1 had pattern single, rate 8"]),
        (SMALL, ["--method", "strip"], ["line 7: rate", "pattern twin, rate 8 had method 4"]),
    ],
    ids=["whole plot in two places", "method of two levels", "levels of two methods"],
)
def test_what_contradicts_itself_is_said_with_the_line_before(tmp_path, text, more, says):
    done = small(tmp_path, text, *more)
    assert (done.returncode, done.stdout) == (2, "")
    for words in says:
        assert words in done.stderr, done.stderr


@pytest.mark.parametrize(
    ("whole", "within", "says"),
    [("block", "rate", "no block holds two levels"), ("pattern", "plot", "no whole plot holds two levels")],
)
def test_columns_that_are_no_factors_are_said(tmp_path, whole, within, says):
    """The block as a factor, or the whole plot: neither can be told from the ground."""
    path = tmp_path / "split.csv"
    path.write_text(SMALL)
    given = ["--whole-factor", whole, "--within-factor", within, "--baseline", "1/8"]
    done = call(path, "--outcome", "yield", "--block", "block", *given)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "say which column holds the method"),
        (["--whole-factor", "pattern"], "two factors need the columns of both"),
        (["--method", "rate", "--whole-plot", "plot"], "two factors need the columns of both"),
        (["--whole-factor", "rate", "--within-factor", "rate"], "need a column each"),
    ],
)
def test_half_a_question_is_asked_back(tmp_path, words, says):
    path = tmp_path / "split.csv"
    path.write_text(SMALL)
    done = call(path, "--outcome", "yield", "--block", "block", "--baseline", "8", *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr
