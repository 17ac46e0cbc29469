"""evenground border: three ways in, keys, words, exit statuses."""

import hashlib
import json
from datetime import date, timedelta

import numpy as np
import pytest
import tomlkit
from tests import small_trial as small
from tests.adapters.two_areas import LAT, LON, TWO
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import CannotCompareError, InputError
from evenground.basis.observations import RECORD_KINDS
from evenground.cli.app import build

runner = CliRunner()
KEYS = {"step", "step_standard_error", "placebo_sd", "interval", "explanations", "advice"}
EXPLANATION = {"item", "state", "found", "bias_t_per_ha", "source"}


def call(*words):
    arguments = ["border", *map(str, words)]
    return runner.invoke(build(arguments), arguments)


def parsed(*words):
    got = call(*words, "--json")
    assert got.exit_code == 0, got.output
    return json.loads(got.stdout)


def yields(step=0.9, *, named=True, seed=3, earlier=False):
    """Points on both sides of LON + 0.001, invented."""
    rng = np.random.default_rng(seed)
    lines = ["lon,lat,value" + (",method" if named else "") + (",earlier_2024" if earlier else "")]
    for k in range(240):
        b = k % 2 == 1
        lon = LON + 0.001 + (1 if b else -1) * rng.uniform(0.00003, 0.00095)
        lat, value = LAT + rng.uniform(0.00005, 0.00195), 13 + step * b + rng.normal(0, 0.4)
        tail = [f"{'B' if b else 'A'}"] * named + [f"{10 + rng.normal(0, 0.5):.2f}"] * earlier
        lines.append(",".join([f"{lon:.7f}", f"{lat:.7f}", f"{value:.3f}", *tail]))
    return "\n".join(lines) + "\n"


def trial(path, **files):
    plan = small.plan()
    content = {"format": 1, **plan.model_dump(exclude_none=True, exclude_defaults=True, mode="json")}
    TrialFolder.create(path, tomlkit.dumps(content))
    for name, text in files.items():
        (path / name.replace("__", ".")).write_text(text, encoding="utf-8")
    return path


def weather(first, days):
    rows = ["id,time,day,temperature_min_c,temperature_max_c"]
    rows += [f"w{d},2026-{first:02d}-{d:02d}T20:00,2026-{first:02d}-{d:02d},4,20" for d in days]
    return "\n".join(rows) + "\n"


def table(path, text):
    path.write_text(text, encoding="utf-8")
    return path


def test_keys_of_a_table_of_points(tmp_path):
    got = parsed(table(tmp_path / "b.csv", yields()))
    assert set(got) >= KEYS
    assert set(got["explanations"][0]) >= EXPLANATION
    assert got["advice"]["action"] == "cannot_tell"
    assert got["advice"]["reason"]
    assert got["interval"][0] < got["step"] < got["interval"][1]
    assert got["step"] == pytest.approx(0.9, abs=3.5 * got["step_standard_error"])
    assert [n["blocks"] for n in got["next_year"]] == [4, 6, 8, 10]


def test_only_weights_at_hand(tmp_path):
    got = parsed(table(tmp_path / "w.csv", "method;value\nold;13,2\nnew;14,1\n"))
    assert set(got) >= KEYS
    assert (got["way"], got["step_standard_error"]) == ("weights", None)
    assert got["step"] == pytest.approx(0.9)
    assert got["placebo_sd"] == pytest.approx(0.115 * 13.65)


def test_a_table_of_another_column_baseline_level_and_day(tmp_path):
    path = table(tmp_path / "w.csv", "method,t_dm\nA,13.2\nB,14.1\n")
    got = parsed(path, "--outcome", "t_dm", "--baseline", "B", "--level", "0.5", "--days-later", "-4")
    assert got["step"] == pytest.approx(-0.9)
    assert got["level"] == 0.5
    (sown,) = [e for e in got["explanations"] if e["item"] == "sowing day"]
    assert sown["state"] == "differs"
    wider = parsed(path, "--outcome", "t_dm", "--baseline", "B", "--days-later", "-4")
    assert wider["interval"][1] > got["interval"][1]


def test_a_trial_already_sown_with_areas_drawn_afterwards(tmp_path):
    path = trial(tmp_path / "t", border__csv=yields(named=False), border_areas__geojson=TWO)
    got = parsed(path)
    assert got["unit"] == "t dry matter/ha"
    (sown,) = [e for e in got["explanations"] if e["item"] == "sowing day"]
    assert "8 days later" in sown["found"]
    assert sown["bias_t_per_ha"][0] < 0 < sown["bias_t_per_ha"][1]


def test_the_heat_between_both_sowings_is_said(tmp_path):
    path = trial(tmp_path / "t", border__csv=yields(), border_areas__geojson=TWO)
    records = path / "records"
    records.mkdir(exist_ok=True)
    rows = weather(4, range(28, 31)) + weather(5, range(1, 6)).split("\n", 1)[1]
    (records / "weather.csv").write_text(rows.replace("w", "x"), encoding="utf-8")
    (sown,) = [e for e in parsed(path)["explanations"] if e["item"] == "sowing day"]
    assert "48 degree days" in sown["found"]  # eight days of 20/4 C: 6 each


def test_the_heat_may_come_from_a_stations_file(tmp_path):
    path = trial(tmp_path / "t", border__csv=yields(), border_areas__geojson=TWO)
    days = [date(2026, 4, 20) + timedelta(days=k) for k in range(40)]
    rows = [f"{d},{4 + k % 3},{20 - k % 3}" for k, d in enumerate(days)]  # mean 12 every day: 6 above base 6
    station = table(tmp_path / "station.csv", "date,tmin,tmax\n" + "\n".join(rows) + "\n")
    got = parsed(path, "--weather", station)
    (sown,) = [e for e in got["explanations"] if e["item"] == "sowing day"]
    assert "48 degree days" in sown["found"]  # eight days of 6 each
    assert "station.csv" in got["files"]
    assert not (path / "records/weather.csv").exists()


def test_planned_so(tmp_path):
    path = trial(tmp_path / "t", border_areas__geojson=TWO)
    got = parsed(path)
    assert set(got) >= KEYS
    assert (got["way"], got["step"], got["interval"]) == ("planned", None, None)
    assert got["border_length_m"] == pytest.approx(222.5, abs=4.5)  # and 2 m round each corner
    assert got["advice"]["action"] == "cannot_tell"
    text = call(path).stdout
    assert "Whatever comes off" in text
    assert "evenground layout" in text


def test_earlier_yields_beside_the_trial(tmp_path):
    rng = np.random.default_rng(8)
    layer = "lon,lat,value,layer\n" + "".join(
        f"{LON + rng.uniform(0, 0.002):.7f},{LAT + rng.uniform(0, 0.002):.7f},{11 + rng.normal():.2f},{year}\n"
        for year in (2023, 2024)
        for _ in range(600)
    )
    got = parsed(trial(tmp_path / "t", border__csv=yields(), earlier_yields__csv=layer))
    assert got["earlier"]["years"] == ["2023", "2024"]
    assert {s["layer"] for s in got["placebo_steps"]} == {"2023", "2024"}
    assert got["placebo_df"] == 5.0  # one line, two years


def test_the_words(tmp_path):
    got = call(table(tmp_path / "b.csv", yields(earlier=True)))
    assert got.exit_code == 0
    lines = got.stdout.splitlines()
    assert lines[0].startswith("At the border B gave ")
    assert "at least this wide" in lines[1]
    for words in ("sowing day (unknown)", "soil and field", "Earlier yields", "strips drawn at random"):
        assert words in got.stdout
    for forbidden in ("significant", "proven", "no difference", " p ", "p-value"):
        assert forbidden not in got.stdout


def test_reading_changes_nothing(tmp_path):
    path = trial(tmp_path / "t", border__csv=yields(), border_areas__geojson=TWO)
    before = {p: p.read_bytes() for p in path.rglob("*") if p.is_file()}
    call(path)
    assert {p: p.read_bytes() for p in path.rglob("*") if p.is_file()} == before


REFUSED = [
    ("method,value\nA,12\nA,13\n", (), "the other side of the border is empty"),
    ("method,value\nA,12\nB,NaN\n", (), "NaN"),
    ("method,value\nA,12\nB,13\n", ("--baseline", "C"), "no row has the baseline's name"),
    ("method,value\nA,12\nB,13\n", ("--level", "90"), "the level is a fraction"),
    ("method,x,y,value\nA,0,0,12\nA,0,9,12\nB,900,0,13\nB,900,9,13\n", (), "do not share a border"),
    ("method,x,y,value\nA,0,0,12\nA,0,9,12\nB,90000,0,13\nB,9,9,13\n", (), "another place"),
]


@pytest.mark.parametrize(("text", "words", "message"), REFUSED)
def test_what_is_no_border_is_refused(tmp_path, text, words, message):
    got = call(table(tmp_path / "b.csv", text), *words)
    assert isinstance(got.exception, InputError)
    assert message in str(got.exception)


def test_methods_that_are_not_in_the_plan_are_refused(tmp_path):
    path = trial(tmp_path / "t", border__csv="method,value\nA,12\nQ,13\n")
    got = call(path)
    assert isinstance(got.exception, InputError)
    assert "no such method in the plan" in str(got.exception)


def test_areas_apart_are_refused(tmp_path):
    areas = json.loads(TWO)
    ring = areas["features"][1]["geometry"]["coordinates"][0]
    areas["features"][1]["geometry"]["coordinates"] = [[[x + 0.01, y] for x, y in ring]]
    got = call(trial(tmp_path / "t", border_areas__geojson=json.dumps(areas)))
    assert isinstance(got.exception, InputError)
    assert "do not share a border" in str(got.exception)
    assert "702 m apart" in str(got.exception)  # 0.01 degrees of longitude at 51 degrees north, by the ellipsoid


def test_it_explains_itself():
    got = call("--help")
    assert "never randomised" in got.stdout
    assert "border.csv" in got.stdout


def verdict_of(*words):
    return runner.invoke(build(["verdict", *map(str, words)]), ["verdict", *map(str, words)])


def test_the_verdict_of_two_areas_is_cannot_tell_with_the_borders_own_numbers(tmp_path):
    folder = trial(tmp_path / "piece", border__csv=yields())
    beside, got = parsed(folder), json.loads(verdict_of(folder, "--json").stdout)
    assert got["advice"]["action"] == "cannot_tell"
    assert got["randomised"] is False
    assert got["comparisons"] == []
    assert got["chance_it_pays"] is None
    assert got["provenance"]["files"] == beside.pop("files")
    assert {k: got[k] for k in beside} == beside
    assert not {"p", "p_value"} & set(got)
    assert got["headline"].startswith("Cannot tell: two areas side by side")
    words = verdict_of(folder).stdout
    for text in ("at least this wide", "pay", "Weakest point", "draw strips at random", "What could explain"):
        assert text in words
    assert "Use it" not in words
    assert "Leave it" not in words


def test_the_report_of_two_areas_says_it_on_every_file(tmp_path):
    folder = trial(tmp_path / "piece", border__csv=yields(earlier=True))
    arguments = ["report", str(folder), "--out", str(tmp_path / "out"), "--json"]
    files = json.loads(runner.invoke(build(arguments), arguments).stdout)["files"]
    assert [f.rsplit("/", 1)[1] for f in files] == ["report.pdf", "report.html"]
    page = (tmp_path / "out/report.html").read_text(encoding="utf-8")
    got = parsed(folder)
    assert f"{got['step']:+.2f}" in page
    assert got["files"] == {"border.csv": hashlib.sha256((folder / "border.csv").read_bytes()).hexdigest()}
    assert got["files"]["border.csv"] in page
    assert page.count("<svg") == 1
    assert "distance from the border" in page
    for text in ("Cannot tell", "Never randomised", "What could explain the step", "Piece by piece", "Earlier yields"):
        assert text in page


LAST = "This cannot tell the method from the field and the date; here is what next year's layout would detect: 4 blocks"


@pytest.mark.parametrize("way", ["points", "weights", "planned", "verdict"])
def test_every_answer_ends_with_the_same_sentence(tmp_path, way):
    files = {"border_areas__geojson": TWO} if way == "planned" else {"border__csv": yields()}
    files |= {"border__csv": "method,value\nA,13.2\nB,14.1\n"} if way == "weights" else {}
    folder = trial(tmp_path / "t", **files)
    said = verdict_of(folder) if way == "verdict" else call(folder)
    last = said.stdout.strip().splitlines()[-1]
    assert LAST in last
    assert last.endswith("t/ha, four times in five.")


def test_every_file_of_a_border_has_its_hash(tmp_path):
    files = {"border__csv": yields(named=False), "border_areas__geojson": TWO}
    folder = trial(tmp_path / "t", **files)
    before = parsed(folder)["files"]
    assert set(before) == {"border.csv", "border_areas.geojson"}
    (folder / "border.csv").write_text(yields(named=False, seed=4), encoding="utf-8")
    after = parsed(folder)["files"]
    assert after["border.csv"] != before["border.csv"]
    assert after["border_areas.geojson"] == before["border_areas.geojson"]
    alone = table(tmp_path / "w.csv", "method,value\nA,13.2\nB,14.1\n")
    assert parsed(alone)["files"] == {"w.csv": hashlib.sha256(alone.read_bytes()).hexdigest()}


def test_planned_areas_have_no_verdict_yet(tmp_path):
    folder = trial(tmp_path / "piece", border_areas__geojson=TWO)
    got = verdict_of(folder)
    assert isinstance(got.exception, CannotCompareError)
    assert "nothing was weighed yet" in str(got.exception)


def test_strips_that_were_drawn_are_the_verdict_whatever_else_lies_in_the_folder(tmp_path):
    folder = trial(tmp_path / "piece", border__csv=yields())
    TrialFolder(folder).append_draw(small.draw())
    TrialFolder(folder).append_records(
        [r for kind in RECORD_KINDS for r in getattr(small.whole_season(small.draw()), kind)]
    )
    got = json.loads(verdict_of(folder, "--json").stdout)
    assert "randomised" not in got
    assert len(got["comparisons"]) == 1


def test_the_plan_says_how_the_numbers_of_the_border_are_written(tmp_path):
    folder = trial(tmp_path / "piece", border__csv="method;value\nA;9.500\nB;9.100\n")
    with pytest.raises(InputError, match=r"9\.500"):
        raise verdict_of(folder).exception
    plan = (folder / "trial.toml").read_text(encoding="utf-8")
    said = plan + '\n[files."border.csv"]\nnumber_style = "1234.5"\n'
    (folder / "trial.toml").write_text(said, encoding="utf-8")
    assert json.loads(verdict_of(folder, "--json").stdout)["step"] == pytest.approx(-0.4)


def test_sowing_days_of_two_seasons_are_refused(tmp_path):
    text = "method,value,sown\nA,9,2026-04-28\nB,9.5,2029-05-05\n"
    with pytest.raises(InputError, match="not sown in one season"):
        raise call(table(tmp_path / "t.csv", text)).exception
    with pytest.raises(InputError, match="not sown in one season"):
        raise call(table(tmp_path / "u.csv", "method,value\nA,9\nB,9.5\n"), "--days-later", "400").exception
    folder = trial(tmp_path / "piece", border__csv=text.replace("2029", "2026"))
    assert verdict_of(folder).exit_code == 0
    (folder / "border.csv").write_text(text.replace("2026", "2021").replace("2029", "2021"), encoding="utf-8")
    with pytest.raises(InputError, match=r"season, 2025") as caught:
        raise verdict_of(folder).exception
    assert len(caught.value.problems) == 2
