import json
from datetime import datetime

import pytest
import tomlkit
from shapely.geometry import MultiPolygon, box
from tests import small_trial as small
from tests.season.invented_weather import years
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.basis.field import Field
from evenground.cli import season
from evenground.cli.app import build

runner = CliRunner()


@pytest.fixture
def trial(tmp_path):
    content = small.plan(
        soil={"texture": "loamy_sand"}, season={"earliness": "S 240", "earliness_group": "early", "altitude_m": 60.0}
    ).model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    field = Field(MultiPolygon([box(9.0, 51.0, 9.003, 51.003)]), MultiPolygon())
    folder = TrialFolder.create(tmp_path / "piece", tomlkit.dumps({**content, "format": 1}), field)
    folder.append_draw(small.draw(("AB", "BA")))
    folder.append_records([small.event("1+4", "sown"), small.event("2+3", "sown", when=datetime(2025, 5, 5, 9))])
    return tmp_path / "piece"


@pytest.fixture
def station(tmp_path):
    whole = years(2015, 2025)
    lines = [
        f"{d.isoformat()};{r:.1f};{a:.1f};{b:.1f}".replace(".", ",")
        for d, r, a, b in zip(
            whole.days, whole["rain_mm"], whole["temperature_min_c"], whole["temperature_max_c"], strict=True
        )
        if d < small.AUTUMN.date()
    ]
    path = tmp_path / "station.csv"
    path.write_text(
        "Breite: 51,0\nLänge: 9,0\nDatum;Regen (mm);Tmin (°C);Tmax (°C)\n" + "\n".join(lines), encoding="utf-8"
    )
    return path


def call(*words):
    arguments = [str(w) for w in words]
    return runner.invoke(build(arguments), arguments)


def test_everything_in_one_object(trial, station):
    got = json.loads(call("season", trial, "--weather", station, "--json").stdout)
    assert got["sown"] == {"A": "2025-04-28", "B": "2025-05-05"}
    assert got["known"] == ["2025-01-01", "2025-09-08"]
    assert {s["stage"] for s in got["stages"]} == {"emergence", "three_leaves", "flowering", "silage"}
    assert got["same_heat"][0]["days_apart"] == 7
    assert len(got["earlier_short_mm"]) == 10
    assert all(abs(w["balance_error_mm"]) < 0.01 for w in got["water"])
    assert len(got["water"][0]["days"]["stress"]) == 134
    assert got["agenda"][0]["key"] == "emergence"
    assert got["sentence"].startswith("From 28\xa0Apr\xa02025 to 8\xa0Sep\xa02025 the crop got ")


def test_everything_in_words(trial, station):
    text = call("season", trial, "--weather", station).stdout
    for words in (
        "hybrid: S 240, as given",
        "base 10, ceiling 30 (86/50 F)",
        "silage, 32 % dry matter",
        "what to do",
        "had the same heat 7 days before",
        "of 10 earlier years",
        "Weaker because",
        "available water",
    ):
        assert words in text


def test_stored_weather_is_there_the_next_time_and_only_once(trial, station):
    call("season", trial, "--weather", station, "--store")
    before = (trial / "records/weather.csv").read_bytes()
    call("season", trial, "--weather", station, "--store")
    assert (trial / "records/weather.csv").read_bytes() == before
    got = json.loads(call("season", trial, "--json").stdout)
    assert got["known"] == ["2025-01-01", "2025-09-08"]
    assert set(got["earlier_short_mm"]) == {str(y) for y in range(2015, 2025)}  # kept beside the records


def test_the_calendar(trial, station, tmp_path):
    path = tmp_path / "tasks.ics"
    call("season", trial, "--weather", station, "--calendar", path)
    text = path.read_bytes().decode()
    assert text.startswith("BEGIN:VCALENDAR\r\n")
    assert text.count("BEGIN:VEVENT") == 11
    with pytest.raises(InputError, match="no such folder"):
        season.run(trial, calendar=tmp_path / "nowhere" / "tasks.ics")


def test_a_trial_without_weather_still_has_an_agenda(trial):
    text = call("season", trial).stdout
    assert "Count plants and late plants in every strip" in text
    assert "no weather is recorded" in text


def test_weather_of_another_year_changes_nothing(trial, tmp_path):
    old = tmp_path / "old.csv"
    old.write_text("date,rain\n2015-05-01,1\n")
    with pytest.raises(InputError, match="no day of this file lies in the season"):
        season.run(trial, weather=old, store=True)
    assert not (trial / "records/weather.csv").exists()
    with pytest.raises(InputError, match="needs a weather file"):
        season.run(trial, store=True)


def test_earlier_years_are_kept_for_the_next_time(trial, station):
    with_file = json.loads(call("season", trial, "--weather", station, "--store", "--json").stdout)
    assert with_file["earlier_short_mm"]
    kept = trial / "weather_years.csv"
    assert kept.read_text(encoding="utf-8").splitlines()[1].startswith("2015-01-01,")
    assert "2025-" not in kept.read_text(encoding="utf-8")
    without = json.loads(call("season", trial, "--json").stdout)
    assert without["earlier_short_mm"] == pytest.approx(with_file["earlier_short_mm"], abs=0.5)
    assert f"of {len(without['earlier_short_mm'])} earlier years" in without["sentence"]
    before = kept.read_bytes()
    call("season", trial, "--weather", station, "--store")
    assert kept.read_bytes() == before
